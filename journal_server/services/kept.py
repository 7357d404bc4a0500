"""What was put together from records, kept in memory as long as the records it was made from stand."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Hashable
from typing import Any


class Kept:
    """The latest ``most`` things by name, each with the stamp of what it was made from. Safe between threads."""

    def __init__(self, most: int):
        self._most = most
        self._things: OrderedDict[Hashable, tuple[Hashable, Any]] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, name: Hashable, stamp: Hashable) -> Any | None:
        """The thing, or None where it is not kept or was made from something else."""
        with self._lock:
            held_stamp, thing = self._things.get(name, (None, None))
            if thing is None or held_stamp != stamp:
                return None
            self._things.move_to_end(name)
            return thing

    def keep(self, name: Hashable, stamp: Hashable, thing: Any) -> None:
        with self._lock:
            self._things[name] = (stamp, thing)
            self._things.move_to_end(name)
            while len(self._things) > self._most:
                self._things.popitem(last=False)
