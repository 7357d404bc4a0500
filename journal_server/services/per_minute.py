"""How often each caller did a thing within the last minute, kept in memory: enough to slow down whoever overdoes it."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable

WINDOW_S = 60.0
MOST_CALLERS = 10_000
"""Of so many the latest are remembered, so that a flood of addresses costs no memory."""


class PerMinute:
    """Counts by caller; ``too_many`` from ``most`` within a minute on. Safe between threads."""

    def __init__(self, most: int, clock: Callable[[], float] = time.monotonic):
        self.most = most
        self._clock = clock
        self._moments: OrderedDict[str, deque[float]] = OrderedDict()
        self._lock = threading.Lock()

    def count(self, caller: str) -> None:
        with self._lock:
            # The oldest of ``most`` says already whether there are too many.
            self._moments.setdefault(caller, deque(maxlen=self.most)).append(self._clock())
            self._moments.move_to_end(caller)
            while len(self._moments) > MOST_CALLERS:
                self._moments.popitem(last=False)

    def too_many(self, caller: str) -> bool:
        with self._lock:
            moments = self._moments.get(caller)
            return moments is not None and len(moments) == self.most and self._clock() - moments[0] < WINDOW_S
