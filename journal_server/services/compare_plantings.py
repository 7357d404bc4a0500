"""Plantings held against each other: how they rank and what stands beside it, from the stored records."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from journal_server.analysis.comparison import QUANTITIES, Comparison, Group, compare_groups
from journal_server.analysis.fill_in import FillIn
from journal_server.analysis.genus_growth import GrowthRemark, beside_genus, fills_of
from journal_server.analysis.ranking import Rank
from journal_server.analysis.same_moment import Moment
from journal_server.analysis.series import PlantingSeason
from journal_server.analysis.survival import Survival, together
from journal_server.domain.dates import full_day_words
from journal_server.domain.words import counted
from journal_server.errors import InputRefused, NotFound
from journal_server.figures.ranking import change_words, tied_words, value_words
from journal_server.figures.words import estimate_words, per_cent
from journal_server.services.comparison_groups import (
    WAYS,
    PlantingGroup,
    cultivars_to_compare,
    group_plantings,
    load_planted,
)
from journal_server.services.comparison_quotes import (
    against_standard_quote,
    growth_quote,
    survival_quote,
    value_quote,
)
from journal_server.services.journal import Journal
from journal_server.services.season import StoredSeason, load_season, load_seasons

LONGEST_WEEK = 5800
"""What was planted in the first year that the journal takes may be compared in the last: 1990 to 2100."""


@dataclass(frozen=True)
class Asked:
    """What is compared: ``way`` to group, within one trial or of one cultivar, by the number ``of``, at a moment.

    ``only`` leaves the other groups out; ``drawn`` are those whose curves are drawn, where a person chose them.
    """

    way: str
    of: str
    trial_id: str | None = None
    cultivar_id: str | None = None
    week: int | None = None
    on: date | None = None
    only: tuple[str, ...] = ()
    drawn: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.way not in WAYS:
            raise InputRefused(f"Plantings can be compared by: {', '.join(WAYS)}; not {self.way[:40]!r}.", "by")
        if self.of not in QUANTITIES:
            raise InputRefused(f"The number must be one of: {', '.join(QUANTITIES)}; not {self.of[:40]!r}.", "of")
        if self.way == "cultivar" and self.trial_id is None:
            raise InputRefused("Say which trial.", "trial")
        if self.way != "cultivar" and self.cultivar_id is None:
            raise InputRefused("Say which cultivar.", "cultivar")

    @property
    def moment(self) -> Moment:
        return Moment(on=self.on) if self.on else Moment(days_after_planting=7 * (self.week or 0))

    @property
    def moment_words(self) -> str:
        if not QUANTITIES[self.of].then:
            return "over the season"
        return f"on {full_day_words(self.on)}" if self.on else f"{self.week or 0} weeks after planting"


OTHER_YEARS = "They did not grow in the same years: a difference may be the weather."
NOTHING_YET = Comparison("", (), (), ())


@dataclass(frozen=True)
class Compared:
    """The groups, how they compare, and what stands beside them."""

    asked: Asked
    groups: tuple[PlantingGroup, ...]
    stored: dict[str, StoredSeason]
    standard: str | None
    gap_days: int
    comparison: Comparison = NOTHING_YET

    @cached_property
    def seasons(self) -> dict[str, PlantingSeason]:
        return {id_: one.season for id_, one in self.stored.items()}

    @cached_property
    def labels(self) -> dict[str, str]:
        return {group.key: group.label for group in self.groups}

    def with_seasons(self, group: PlantingGroup) -> Group:
        return Group(group.key, group.label, tuple(self.seasons[one.planting_id] for one in group.members))

    @property
    def title(self) -> str:
        words = QUANTITIES[self.asked.of].words
        return f"{words[:1].upper()}{words[1:]} {self.asked.moment_words}"


def what_can_be_compared(journal: Journal) -> dict[str, Any]:
    """For each way of grouping one cultivar, the cultivars that have something to compare; and the numbers."""
    planted = load_planted(journal)
    return {
        "ways": {way: cultivars_to_compare(planted, way) for way in WAYS[1:]},
        "numbers": numbers_to_compare_by(),
    }


def numbers_to_compare_by() -> list[dict[str, Any]]:
    return [{"name": name, "words": one.words, "then": one.then} for name, one in QUANTITIES.items()]


def compare_plantings(journal: Journal, asked: Asked) -> Compared:
    """Group, read at the moment, rank."""
    planted = load_planted(journal, trial_id=asked.trial_id, cultivar_id=asked.cultivar_id)
    if not planted:
        raise NotFound("There is no such planting to compare.")
    groups = [group for group in group_plantings(planted, asked.way) if not asked.only or group.key in asked.only]
    if asked.trial_id:
        stored = load_seasons(journal, asked.trial_id)
    else:
        stored = [load_season(journal, one.planting_id) for one in planted]
    gap_days = int(journal.setting("gap_days"))
    standard = _standard(groups) if asked.way == "cultivar" else None
    compared = Compared(asked, tuple(groups), {one.planting.id: one for one in stored}, standard, gap_days)
    comparison = compare_groups(
        [compared.with_seasons(group) for group in groups],
        asked.of,
        asked.moment,
        gap_days=gap_days,
        standard=standard,
    )
    return replace(compared, comparison=comparison)


def describe_comparison(compared: Compared) -> dict[str, Any]:
    """The comparison as numbers and as words ready to show, with survival and growth beside each group."""
    fills = fills_of(list(compared.seasons.values())) if compared.asked.way == "cultivar" else {}
    return compared.comparison.as_dict() | {
        "title": compared.title,
        "words": QUANTITIES[compared.asked.of].words,
        "standard": compared.standard,
        "sentences": [*compared.comparison.sentences, *_said_beside(compared)],
        "groups": [_group(compared, group) | _growth(compared, group, fills) for group in compared.groups],
        "weeks": _weeks(compared.seasons.values()),
        "days": _days(compared.seasons.values()),
    }


def _said_beside(compared: Compared) -> list[str]:
    """What must be known beside the ranking: that nothing is the standard, that years differ too."""
    if compared.asked.way == "cultivar":
        return [] if compared.standard else ["No cultivar of these is marked as the standard."]
    year_of = {one.planting_id: one.year for group in compared.groups for one in group.members}
    years = {frozenset(year_of[id_] for id_ in rank.contender.planting_ids) for rank in compared.comparison.ranks}
    return [OTHER_YEARS] if len(years) > 1 else []


def growth_of_planting(journal: Journal, planting_id: str) -> dict[str, Any]:
    """How one planting grows beside the others of its genus in its trial, in sentences."""
    own = load_season(journal, planting_id)
    trial = [one.season for one in load_seasons(journal, own.planting.fields["trial_id"])]
    others = [season for season in trial if season.genus == own.season.genus]
    found = beside_genus(own.season, others, fills_of([own.season, *others]))
    return {
        "remarks": [remark.as_dict() for remark in found.remarks],
        "sentences": [_growth_words(remark, own.season) for remark in found.remarks],
        "quotes": [growth_quote(remark, own) for remark in found.remarks],
        "reason": found.reason,
    }


def _standard(groups: Sequence[PlantingGroup]) -> str | None:
    return next((group.key for group in groups if any(one.standard for one in group.members)), None)


def _group(compared: Compared, group: PlantingGroup) -> dict[str, Any]:
    rank = next((one for one in compared.comparison.ranks if one.contender.key == group.key), None)
    survived = together([one.survival for one in group.members])
    of, members = compared.asked.of, [compared.stored[one.planting_id] for one in group.members]
    return {
        "key": group.key,
        "label": group.label,
        "plantings": [one.planting_id for one in group.members],
        "measured": rank.contender.plantings if rank else 0,
        "rank": rank.words if rank else None,
        "value": value_words(of, rank.contender.estimate) if rank else None,
        "tied_words": tied_words(rank.tied_with, compared.labels, most=2) if rank else "",
        "against_standard": change_words(of, rank.against_standard) or None if rank else None,
        "survival": survived.as_dict(),
        "survival_words": survival_words(survived),
        "quotes": _quotes(compared, group, rank, members) | {"survival": survival_quote(survived, members)},
        "off_type_flowers": sum(one.off_types for one in group.members),
    }


def _quotes(
    compared: Compared, group: PlantingGroup, rank: Rank | None, members: Sequence[StoredSeason]
) -> dict[str, dict[str, str] | None]:
    if rank is None:
        return {"value": None, "against_standard": None}
    of, is_cultivar = compared.asked.of, compared.asked.way == "cultivar"
    label = "" if is_cultivar else group.label
    standard = compared.labels.get(compared.standard or "", "")
    count = len(compared.comparison.ranks)
    return {
        "value": value_quote(rank, of, compared.title, members, label, count),
        "against_standard": against_standard_quote(rank, of, compared.title, members, standard),
    }


def _growth(compared: Compared, group: PlantingGroup, fills: Mapping[str, FillIn]) -> dict[str, Any]:
    """Sentences on growth beside the genus and their quotes; for cultivars side by side only, against the trial."""
    if compared.asked.way != "cultivar":
        return {"growth": [], "growth_quotes": []}
    trial = list(compared.seasons.values())
    remarks = [
        (remark, compared.stored[one.planting_id])
        for one in group.members
        for remark in beside_genus(compared.seasons[one.planting_id], trial, fills).remarks
    ]
    several = len(group.members) > 1
    return {
        "growth": [_growth_words(one, own.season, own.season.place if several else None) for one, own in remarks],
        "growth_quotes": [growth_quote(one, own) for one, own in remarks],
    }


def _growth_words(remark: GrowthRemark, season: PlantingSeason, place: str | None = None) -> str:
    """One remark as a sentence; ``place`` says which of a cultivar's plantings it is about."""
    count = len(remark.other_plantings)
    beside = f"the median of {count} other plantings of {season.genus}" if count > 1 else f"the other {season.genus}"
    word = f"{place}, {remark.word}" if place else f"{remark.word[:1].upper()}{remark.word[1:]}"
    if remark.name == "days_to_50":
        return f"{word}: {remark.own.value:.0f} days to half fill against {remark.others.value:.0f} ({beside})."
    return f"{word}: levels off at {per_cent(remark.own.value)} against {per_cent(remark.others.value)} ({beside})."


def survival_words(survived: Survival) -> str:
    """'4 of 5 plants living, 80 % (44–95)', or that nobody counted, or why it is not known."""
    if survived.share is None:
        return survived.reason or "not known"
    if not survived.counted:
        return f"{survived.planted} planted, none counted as lost"
    stayed = (survived.planted or 0) - survived.lifted
    lifted = f", {survived.lifted} lifted for elsewhere" if survived.lifted else ""
    words = (
        f"{survived.living} of {counted(stayed, 'plant')} living, {estimate_words('survival', survived.share)}{lifted}"
    )
    return f"{words} ({survived.reason})" if survived.reason else words


def _weeks(seasons: Collection[PlantingSeason]) -> list[int] | None:
    """First and last week after planting with a photo."""
    days = [(point.taken_on - season.planted_on).days for season in seasons for point in season.points]
    return [max(0, -(-min(days) // 7)), max(0, max(days) // 7)] if days else None


def _days(seasons: Collection[PlantingSeason]) -> list[str]:
    """The days with a photo."""
    return [day.isoformat() for day in sorted({point.taken_on for season in seasons for point in season.points})]
