"""The fade of many plantings on their sure dates in one go, with the answer that `fade.fade` gives one by one."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skimage.color import deltaE_ciede2000, rgb2lab

from journal_server.analysis.fade import LEAVES_MOVED_DE00, REFERENCE_BLOOM_COVER
from journal_server.analysis.series import SeasonPoint

Floats = NDArray[np.float64]

# skimage has no type annotations of its own.
_delta_e_00: Callable[[Floats, Floats], Any] = deltaE_ciede2000
_rgb_to_lab: Callable[[Floats], Any] = rgb2lab

#: A fade is held against that of others at most this many days younger or older since their reference day.
SAME_FADE_DAYS = 10


@dataclass(frozen=True)
class SureStep:
    """The CIEDE2000 difference of one date from the reference date, where nothing speaks for the light."""

    point: SeasonPoint
    days: int
    de00: float


@dataclass(frozen=True)
class SureFade:
    """The reference date of one planting and its sure dates after it, in order."""

    reference: SeasonPoint
    steps: tuple[SureStep, ...]

    def near(self, days: int) -> float | None:
        """CIEDE2000 on the date nearest to so many days after the reference, of those near enough."""
        at = bisect_left(self.steps, days, key=lambda step: step.days)
        beside = [step for step in self.steps[max(0, at - 1) : at + 1] if abs(step.days - days) <= SAME_FADE_DAYS]
        return min(beside, key=lambda step: abs(step.days - days)).de00 if beside else None


def sure_fades(days_of: Mapping[str, Sequence[SeasonPoint]]) -> dict[str, SureFade]:
    """The sure fade of each planting that has a reference date.

    Parameters
    ----------
    days_of : planting id to its points, one a day, in order of date

    Returns
    -------
    planting id to SureFade; a planting whose reference is itself doubtful has no sure dates
    """
    sure = _sure_points(days_of)
    references = {id_: one for id_, days in days_of.items() if (one := _reference(days))}
    pairs = [
        (id_, reference, point)
        for id_, reference in references.items()
        for point in days_of[id_]
        if point.bloom_lab and point.taken_on > reference.taken_on and _comparable(reference, point, sure)
    ]
    steps: dict[str, list[SureStep]] = {id_: [] for id_ in references}
    if pairs:
        apart = _delta_e_00(np.array([r.bloom_lab for _, r, _ in pairs]), np.array([p.bloom_lab for _, _, p in pairs]))
        for (id_, reference, point), de00 in zip(pairs, np.asarray(apart), strict=True):
            steps[id_].append(SureStep(point, _days(reference.taken_on, point.taken_on), float(de00)))
    return {id_: SureFade(reference, tuple(steps[id_])) for id_, reference in references.items()}


def _days(first: date, last: date) -> int:
    return (last - first).days


def _reference(days: Sequence[SeasonPoint]) -> SeasonPoint | None:
    return next(
        (p for p in days if p.bloom_lab and p.bloom_cover and p.bloom_cover.value >= REFERENCE_BLOOM_COVER), None
    )


def _comparable(reference: SeasonPoint, point: SeasonPoint, sure: set[int]) -> bool:
    both = id(reference) in sure and id(point) in sure
    return both and reference.white_reference == point.white_reference


def _sure_points(days_of: Mapping[str, Sequence[SeasonPoint]]) -> set[int]:
    """Identities (in memory) of the points whose light is not in doubt."""
    seasons = list(days_of.values())
    with_leaves = [[p for p in days if p.foliage_hex] for days in seasons]
    labs = _labs_of([str(p.foliage_hex) for leaves in with_leaves for p in leaves])
    ends = np.cumsum([0, *map(len, with_leaves)])
    usual, judged = [], []
    for leaves, (begin, end) in zip(with_leaves, pairwise(ends), strict=True):
        if len(leaves) >= 3:
            usual.append(np.repeat(np.median(labs[begin:end], axis=0)[None], end - begin, axis=0))
            judged += [(p, i) for p, i in zip(leaves, range(begin, end), strict=True)]
    moved: set[int] = set()
    if judged:
        apart = _delta_e_00(np.concatenate(usual), labs[[i for _, i in judged]])
        moved = {id(p) for (p, _), de00 in zip(judged, np.asarray(apart), strict=True) if de00 > LEAVES_MOVED_DE00}
    return {id(p) for days in seasons for p in days if not p.colour_doubtful and id(p) not in moved}


def _labs_of(codes: Sequence[str]) -> Floats:
    """CIELAB (D65, 2 degree observer) of ``#rrggbb`` colours, shape (n, 3)."""
    if not codes:
        return np.empty((0, 3))
    levels = np.frombuffer(bytes.fromhex("".join(code[1:] for code in codes)), dtype=np.uint8).reshape(-1, 1, 3)
    return np.asarray(_rgb_to_lab(levels / 255.0), dtype=np.float64).reshape(-1, 3)
