"""The rows of a timeline in another order than that of the walk: by name, by genus, by a number; and in groups."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from journal_server.analysis.bloom import bloom_season
from journal_server.analysis.fade import fade
from journal_server.analysis.fill_in import time_to_fill
from journal_server.analysis.series import PlantingSeason, points_by_day
from journal_server.measurement.result import Estimate

WALK = "walk"
NAMES: dict[str, Callable[[PlantingSeason], tuple[str, ...]]] = {
    "cultivar": lambda season: (season.cultivar.casefold(), season.genus.casefold()),
    "genus": lambda season: (season.genus.casefold(), season.cultivar.casefold()),
}
OF_LEAVES_TOO = ("canopy_fill", "days_to_50", "days_to_90", "evenness")
"""Numbers that a plant grown for its leaves has as well."""


@dataclass(frozen=True)
class Reading:
    """A planting's number as it is sorted by; ``estimate`` carries the 90 % interval where one is known."""

    value: float
    estimate: Estimate | None


@dataclass(frozen=True)
class SeasonNumber:
    """A number of a whole season. ``most_first`` says from which end it is sorted."""

    words: str
    read: Callable[[PlantingSeason], Reading | None]
    most_first: bool = True


@dataclass(frozen=True)
class Arranged:
    """Rows in order; ``headings`` stand before the row of that number; ``readings`` are the numbers sorted by."""

    rows: tuple[PlantingSeason, ...]
    headings: dict[int, str] = field(default_factory=dict)
    readings: dict[str, Reading | None] = field(default_factory=dict)


def arrange(
    seasons: Sequence[PlantingSeason],
    *,
    sort: str = WALK,
    groups: Mapping[str, str] | None = None,
    group_order: Sequence[str] = (),
    readings: Mapping[str, Reading | None] | None = None,
) -> Arranged:
    """Seasons sorted within their groups; equal ones stay in the order given.

    Parameters
    ----------
    seasons : in walking order
    sort : "walk", one of `NAMES` or one of `NUMBERS`
    groups : the group of each planting by its id; without it there is one group without a heading
    group_order : groups that come first, in this order; others follow by their names
    readings : the numbers to sort by, by planting id, where they are known already (read here if not given)

    Returns
    -------
    Arranged; rows without the number stand last in their group, under a heading that says so

    Raises
    ------
    KeyError : there is no such order
    """
    ranks = {name: place for place, name in enumerate(group_order)}
    members: dict[str, list[PlantingSeason]] = {}
    for season in seasons:
        members.setdefault(groups[season.planting_id] if groups else "", []).append(season)
    read = {} if sort == WALK or sort in NAMES else _read_all(seasons, sort, readings)
    rows: list[PlantingSeason] = []
    headings: dict[int, str] = {}
    for name in sorted(members, key=lambda name: (ranks.get(name, len(ranks)), name.casefold())):
        known, unknown = _sorted(members[name], sort, read)
        if known and name:
            headings[len(rows)] = name
        rows += known
        if unknown:
            headings[len(rows)] = ": ".join(filter(None, (name, f"{NUMBERS[sort].words} not known")))
        rows += unknown
    return Arranged(tuple(rows), headings, read)


def _read_all(
    seasons: Sequence[PlantingSeason], sort: str, readings: Mapping[str, Reading | None] | None
) -> dict[str, Reading | None]:
    known = readings or {}
    return {s.planting_id: known[s.planting_id] if s.planting_id in known else read_number(s, sort) for s in seasons}


def _sorted(
    seasons: Sequence[PlantingSeason], sort: str, read: Mapping[str, Reading | None]
) -> tuple[list[PlantingSeason], list[PlantingSeason]]:
    """Those in order, and those that lack the number."""
    if sort == WALK:
        return list(seasons), []
    if sort in NAMES:
        return sorted(seasons, key=NAMES[sort]), []
    sign = -1 if NUMBERS[sort].most_first else 1
    values = {season.planting_id: reading.value for season in seasons if (reading := read[season.planting_id])}
    known = [season for season in seasons if season.planting_id in values]
    known.sort(key=lambda season: sign * values[season.planting_id])
    return known, [season for season in seasons if season.planting_id not in values]


def read_number(season: PlantingSeason, name: str) -> Reading | None:
    """A planting's number called ``name``, one of `NUMBERS`; None where it is not known or is none of its kind.

    Raises KeyError for another name.
    """
    number = NUMBERS[name]
    return None if season.foliage_only and name not in OF_LEAVES_TOO else number.read(season)


def _latest(name: str) -> Callable[[PlantingSeason], Reading | None]:
    def read(season: PlantingSeason) -> Reading | None:
        known: list[Estimate | None] = [getattr(point, name) for point in points_by_day(season)]
        return _reading(next((estimate for estimate in reversed(known) if estimate is not None), None))

    return read


def _reading(estimate: Estimate | None) -> Reading | None:
    return None if estimate is None else Reading(estimate.value, estimate)


def _fade(season: PlantingSeason) -> Reading | None:
    """The farthest that the bloom colour has moved, on a day without doubt."""
    most = fade(season).most
    return None if most is None or most.doubt else Reading(most.difference.de00, most.interval)


NUMBERS: dict[str, SeasonNumber] = {
    "canopy_fill": SeasonNumber("canopy fill", _latest("canopy_fill")),
    "bloom_cover": SeasonNumber("bloom cover", _latest("bloom_cover")),
    "peak": SeasonNumber("peak bloom", lambda season: _reading(bloom_season(season).peak)),
    "season_bloom": SeasonNumber("season bloom", lambda season: _reading(bloom_season(season).season_bloom)),
    "weeks_in_bloom": SeasonNumber("weeks in bloom", lambda season: _reading(bloom_season(season).weeks_in_bloom)),
    "days_to_50": SeasonNumber(
        "days to half full", lambda season: _reading(time_to_fill(season).days_to_50), most_first=False
    ),
    "days_to_90": SeasonNumber(
        "days to nine tenths full", lambda season: _reading(time_to_fill(season).days_to_90), most_first=False
    ),
    "spent_share": SeasonNumber("spent share", _latest("spent_share")),
    "fade": SeasonNumber("fade", _fade),
    "evenness": SeasonNumber("evenness", _latest("evenness"), most_first=False),
}
"""The numbers that rows can be sorted by. What wants an eye comes first: spent bloom, fade, uneven rows."""
