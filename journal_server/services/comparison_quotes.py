"""Quotes of what stands beside a comparison: values, differences from the standard, survival, growth."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.analysis.genus_growth import GrowthRemark
from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.quotable import DAYS, RATIO, SHARE, WEEKS, QuotableNumber
from journal_server.analysis.ranking import Rank
from journal_server.analysis.survival import Survival
from journal_server.figures.ranking import change_words
from journal_server.figures.words import quotable_interval, quotable_value
from journal_server.measurement.result import Estimate
from journal_server.services.quotes import Named, Quoted, named_as, quote
from journal_server.services.season import StoredSeason

UNITS = {"days_to_50": DAYS, "weeks_in_bloom": WEEKS, "flower_to_leaf": RATIO, "asymptote": SHARE}
GROWTH = {"days_to_50": "days to half of its full size", "asymptote": "canopy fill at its full size"}

Quote = dict[str, str]


def value_quote(
    rank: Rank, of: str, what: str, members: Sequence[StoredSeason], label: str, compared: int
) -> Quote | None:
    """The value of one group with its rank; ``label`` names a group of one cultivar, such as its year."""
    behind = _behind(rank, members)
    value, interval = _said(of, rank.contender.estimate)
    rank_words = f"rank {rank.words} of {compared}"
    notes = (*_mean_of(behind), rank_words) if compared > 1 else _mean_of(behind)
    words = f"{what}, {label}" if label else what
    return quote(Quoted(words, value, interval, (), _named(behind), _photos(behind), notes))


def against_standard_quote(
    rank: Rank, of: str, what: str, members: Sequence[StoredSeason], standard: str
) -> Quote | None:
    """How far a group lies from the standard; None for the standard itself."""
    words = change_words(of, rank.against_standard)
    if not words:
        return None
    value, _, interval = words.removesuffix(")").partition(" (")
    behind = _behind(rank, members)
    about = f"{what}, against the standard {standard}"
    return quote(Quoted(about, value, interval, (), _named(behind), _photos(behind), _mean_of(behind)))


def survival_quote(survived: Survival, members: Sequence[StoredSeason]) -> Quote | None:
    """Plants living of those planted; None where nobody counted."""
    if survived.share is None or not survived.counted:
        return None
    value, interval = _said("survival", survived.share)
    stayed = (survived.planted or 0) - survived.lifted
    notes = (f"{survived.living} of {stayed}", *((survived.reason,) if survived.reason else ()))
    return quote(Quoted("plants living of those planted", value, interval, (), _named(members), (), notes))


def growth_quote(remark: GrowthRemark, stored: StoredSeason) -> Quote:
    """A remark on growth beside the genus, with both intervals."""
    value, interval = _said(remark.name, remark.own)
    theirs, their_interval = _said(remark.name, remark.others)
    count = len(remark.other_plantings)
    whose = f"the median of {count} other plantings of {stored.season.genus}" if count > 1 else "the other planting"
    note = f"{remark.word} beside {whose}: {theirs} ({their_interval})"
    photos = tuple(stored.photos.values())
    return quote(Quoted(GROWTH[remark.name], value, interval, (), named_as(stored), photos, (note,)))


def _said(of: str, estimate: Estimate) -> tuple[str, str]:
    number = QuotableNumber(of, "", of, UNITS.get(of, SHARE), estimate)
    return quotable_value(number), quotable_interval(number) or ""


def _behind(rank: Rank, members: Sequence[StoredSeason]) -> list[StoredSeason]:
    """The plantings that the value is the mean of: those that had the number."""
    return [one for one in members if one.planting.id in rank.contender.planting_ids]


def _named(members: Sequence[StoredSeason]) -> Named:
    """The one cultivar of them all; the place only where there is one."""
    names = {named_as(one) for one in members}
    if len({(name.genus, name.cultivar) for name in names}) != 1:
        return Named()
    name = next(iter(names))
    return name if len(members) == 1 else Named(name.genus, name.cultivar)


def _mean_of(members: Sequence[StoredSeason]) -> tuple[str, ...]:
    if len(members) < 2:
        return ()
    return (f"mean of {len(members)} plantings ({', '.join(one.season.place for one in members)})",)


def _photos(members: Sequence[StoredSeason]) -> tuple[PhotoFacts, ...]:
    return tuple(facts for one in members for facts in one.photos.values())
