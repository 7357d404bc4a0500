"""One planting's measured numbers over a season: what every other part of the analysis starts from."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import groupby
from math import sqrt
from statistics import fmean, median, stdev
from typing import Any

from journal_server.measurement.result import Estimate

Lab = tuple[float, float, float]

#: Standard normal quantile that bounds a 90 % interval.
Z_90 = 1.6448536269514722

#: Photos of one planting by one method share part of their error. How much is not known; half of its variance
#: is assumed, which lies between too narrow (none shared) and too wide (all shared).
SHARED_VARIANCE = 0.5

_HEX = re.compile(r"#[0-9a-fA-F]{6}")

#: The numbers of a point and the trade's words for them.
SHARE_WORDS = {
    "canopy_fill": "canopy fill",
    "bloom_cover": "bloom cover",
    "flower_to_leaf": "flower to leaf",
    "spent_share": "spent share",
    "spill_cm": "spill",
    "evenness": "evenness",
}
SHARES = tuple(SHARE_WORDS)
SHARES_OF_BLOOM = ("bloom_cover", "flower_to_leaf", "spent_share")
"""They say nothing of a plant that is grown for its leaves."""
FOR_ITS_LEAVES = "grown for its leaves"


@dataclass(frozen=True)
class SeasonPoint:
    """The numbers of one photo, or of one day where photos were combined (``photo_ids`` names all).

    Raises ValueError for a colour that is not ``#rrggbb``.
    """

    photo_id: str
    taken_on: date
    canopy_fill: Estimate | None = None
    bloom_cover: Estimate | None = None
    flower_to_leaf: Estimate | None = None
    spent_share: Estimate | None = None
    spill_cm: Estimate | None = None
    evenness: Estimate | None = None
    slots: tuple[float, ...] | None = None
    bloom_lab: Lab | None = None
    bloom_hex: str | None = None
    foliage_hex: str | None = None
    white_reference: str = "estimated"
    colour_doubtful: bool = False
    bloom_error_de00: float | None = None
    photo_ids: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for code in (self.bloom_hex, self.foliage_hex):
            if code is not None and not _HEX.fullmatch(code):
                raise ValueError(f"a colour is #rrggbb, got {code!r}")
        if not self.photo_ids:
            object.__setattr__(self, "photo_ids", (self.photo_id,))


@dataclass(frozen=True)
class PlantingSeason:
    """One cultivar in one planter from planting to removal, with the points of its photos in any order."""

    planting_id: str
    cultivar: str
    genus: str
    place: str
    planted_on: date
    removed_on: date | None = None
    plants: int | None = None
    foliage_only: bool = False
    points: tuple[SeasonPoint, ...] = field(default=())


def days_after_planting(planted_on: date, day: date) -> int:
    """Calendar days from the planting date to ``day``; negative before it."""
    return (day - planted_on).days


def weeks_after_planting(planted_on: date, day: date) -> float:
    """Days after planting divided by seven."""
    return days_after_planting(planted_on, day) / 7


def points_by_day(season: PlantingSeason) -> tuple[SeasonPoint, ...]:
    """One point a day in order of date; several photos of one day are combined by `combine_day`."""
    ordered = sorted(season.points, key=lambda point: (point.taken_on, point.photo_id))
    return tuple(combine_day(tuple(group)) for _, group in groupby(ordered, key=lambda point: point.taken_on))


def combine_day(points: Sequence[SeasonPoint]) -> SeasonPoint:
    """Combine the photos of one planting on one day into one point.

    Each share is the median of the photos' values. Its interval is not narrowed by the number of photos,
    because photos of one planting by one method share most of their error; it is widened where the photos
    differ. Colours are averaged over the most trustworthy photos: not doubtful, then with a card's white. Slots
    are the median slot by slot over the photos with the commonest number of slots.

    Parameters
    ----------
    points : one or more points of the same day

    Returns
    -------
    SeasonPoint whose ``photo_id`` is that of the first photo and whose ``photo_ids`` are all of them
    """
    first = points[0]
    if len(points) == 1:
        return first
    shares: dict[str, Any] = {name: _combine([getattr(point, name) for point in points]) for name in SHARES}
    best = _most_trustworthy([p for p in points if p.bloom_lab])
    leaves = _most_trustworthy([p for p in points if p.foliage_hex])
    return replace(
        first,
        **shares,
        slots=_median_slots([p.slots for p in points if p.slots]),
        bloom_lab=_mean_lab([p.bloom_lab for p in best if p.bloom_lab]),
        bloom_hex=mean_hex([p.bloom_hex for p in best if p.bloom_hex]),
        foliage_hex=mean_hex([p.foliage_hex for p in leaves if p.foliage_hex]),
        white_reference=(best or points)[0].white_reference,
        colour_doubtful=(best or points)[0].colour_doubtful,
        # photos of one day share their light, so that their number makes the mean no surer
        bloom_error_de00=min((p.bloom_error_de00 for p in best if p.bloom_error_de00 is not None), default=None),
        photo_ids=tuple(photo_id for point in points for photo_id in point.photo_ids),
    )


def _most_trustworthy(points: Sequence[SeasonPoint]) -> Sequence[SeasonPoint]:
    def doubt(point: SeasonPoint) -> tuple[bool, bool]:
        return (point.colour_doubtful, point.white_reference != "card")

    return [point for point in points if doubt(point) == min(map(doubt, points))]


def _combine(estimates: Sequence[Estimate | None]) -> Estimate | None:
    had = [estimate for estimate in estimates if estimate is not None]
    if len(had) < 2:
        return had[0] if had else None
    value = median(e.value for e in had)
    between = Z_90 * stdev(e.value for e in had) / sqrt(len(had))
    below = sqrt(median(e.value - e.low for e in had) ** 2 + between**2)
    above = sqrt(median(e.high - e.value for e in had) ** 2 + between**2)
    return Estimate(value, max(0.0, value - below), value + above)


def _median_slots(all_slots: Sequence[tuple[float, ...]]) -> tuple[float, ...] | None:
    if not all_slots:
        return None
    sizes = [len(slots) for slots in all_slots]
    size = max(sorted(set(sizes)), key=sizes.count)
    return tuple(median(column) for column in zip(*(s for s in all_slots if len(s) == size), strict=True))


def _mean_lab(labs: Sequence[Lab]) -> Lab | None:
    if not labs:
        return None
    lightness, a, b = (fmean(axis) for axis in zip(*labs, strict=True))
    return (lightness, a, b)


def mean_hex(colours: Sequence[str]) -> str | None:
    """The mean of ``#rrggbb`` colours of one day; they differ so little that averaging the codes will do."""
    if not colours:
        return None
    channels = [[int(colour[i : i + 2], 16) for colour in colours] for i in (1, 3, 5)]
    return "#" + "".join(f"{round(fmean(channel)):02x}" for channel in channels)
