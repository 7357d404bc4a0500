"""Groups of plantings held against each other by one number: cultivars, places, years, tries. One engine for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

from journal_server.analysis.bloom import bloom_season
from journal_server.analysis.genus_growth import fills_of
from journal_server.analysis.ranking import Contender, Rank, group_estimate, rank
from journal_server.analysis.same_moment import Moment, value_then
from journal_server.analysis.series import PlantingSeason
from journal_server.measurement.result import Estimate

ONE_EACH = "One planter each: a difference may be the place."
SOME_ALONE = "Where a group is one planter, a difference may be the place."
ALL_TIED = "None of them differ by more than measuring error."


@dataclass(frozen=True)
class Quantity:
    """A number that groups are compared by. ``then`` is one read at a moment; others belong to the whole season.

    ``most`` is the highest value that there can be.
    """

    words: str
    then: bool
    highest_first: bool = True
    most: float = inf


QUANTITIES = {
    "canopy_fill": Quantity("canopy fill", then=True, most=1.0),
    "bloom_cover": Quantity("bloom cover", then=True, most=1.0),
    "spent_share": Quantity("spent share", then=True, highest_first=False, most=1.0),
    "flower_to_leaf": Quantity("flower to leaf", then=True),
    "days_to_50": Quantity("days to half of its full size", then=False, highest_first=False),
    "peak": Quantity("peak bloom", then=False, most=1.0),
    "weeks_in_bloom": Quantity("weeks in bloom", then=False),
    "season_bloom": Quantity("season bloom", then=False, most=1.0),
}


@dataclass(frozen=True)
class Group:
    """Plantings that stand for one thing: a cultivar, a kind of place, a year, a try."""

    key: str
    label: str
    seasons: tuple[PlantingSeason, ...]


@dataclass(frozen=True)
class Unknown:
    """A group without a value, and why."""

    key: str
    reason: str


@dataclass(frozen=True)
class Comparison:
    """Groups in order with their ranks; those without a value beside them; what must be said with it."""

    of: str
    ranks: tuple[Rank, ...]
    unknown: tuple[Unknown, ...]
    sentences: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "of": self.of,
            "ranks": [one.as_dict() for one in self.ranks],
            "unknown": [{"key": one.key, "reason": one.reason} for one in self.unknown],
            "sentences": list(self.sentences),
        }


def compare_groups(
    groups: Sequence[Group], of: str, moment: Moment, *, gap_days: int, standard: str | None = None
) -> Comparison:
    """Rank groups by one number.

    Parameters
    ----------
    of : one of `QUANTITIES`
    moment : when it is read; for numbers of the whole season it plays no part
    gap_days : measured days further apart than this are not joined
    standard : key of the group that the others are also held against

    Raises
    ------
    KeyError : there is no such number
    """
    contenders, unknown, quantity = [], [], QUANTITIES[of]
    for group in groups:
        values, reasons = _values(group, of, moment, gap_days)
        if values:
            estimate = group_estimate(list(values.values()), quantity.most)
            contenders.append(Contender(group.key, estimate, len(values), tuple(values)))
        else:
            unknown.append(Unknown(group.key, reasons[0] if reasons else "no planting"))
    ranks = rank(contenders, highest_first=quantity.highest_first, standard=standard, most=quantity.most)
    return Comparison(of, tuple(ranks), tuple(unknown), _sentences(ranks))


def _values(group: Group, of: str, moment: Moment, gap_days: int) -> tuple[dict[str, Estimate], list[str]]:
    """The values of a group's plantings by their ids, and the reasons of those that have none."""
    values, reasons = {}, []
    for season in group.seasons:
        estimate, reason = _value(season, of, moment, gap_days)
        if estimate is not None:
            values[season.planting_id] = estimate
        else:
            reasons.append(reason or "not measured")
    return values, reasons


def _value(season: PlantingSeason, of: str, moment: Moment, gap_days: int) -> tuple[Estimate | None, str | None]:
    if season.foliage_only and of not in ("canopy_fill", "days_to_50"):
        return None, "grown for its leaves"
    if QUANTITIES[of].then:
        found = value_then(season, of, moment, gap_days=gap_days)
        return found.estimate, found.reason
    if of == "days_to_50":
        fill = fills_of([season])[season.planting_id]
        return fill.days_to_50, fill.reasons.get(of)
    bloom = bloom_season(season)
    estimate: Estimate | None = getattr(bloom, of)
    return estimate, bloom.reasons.get(of)


def _sentences(ranks: Sequence[Rank]) -> tuple[str, ...]:
    if len(ranks) < 2:
        return ()
    alone = [one.contender.plantings == 1 for one in ranks]
    tied = all(len(one.tied_with) == len(ranks) - 1 for one in ranks)
    said = [ALL_TIED] if tied else []
    if all(alone):
        said.append(ONE_EACH)
    elif any(alone):
        said.append(SOME_ALONE)
    return tuple(said)
