"""Sentences about heat: how many heat days it stood through, and what bloom did over the longest hot spell."""

from __future__ import annotations

from datetime import date, timedelta

from journal_server.analysis.differences import difference
from journal_server.analysis.quotable import SHARE, QuotableNumber
from journal_server.analysis.series import SeasonPoint
from journal_server.analysis.verdict_drafts.counted import heat_days, longest_hot_spell
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, NotOffered, Quoted, draft
from journal_server.domain.dates import day_words
from journal_server.measurement.result import Estimate

ABOUT = "heat"

#: Bloom before a hot spell is that of so many days before it; heat shows within so many days after it (one to two
#: weeks: common practice, no source).
BEFORE_DAYS, SHOWS_AFTER_DAYS, SHOWN_BY_DAYS = 14, 7, 21
#: Two heat days make no spell.
SHORTEST_SPELL_DAYS = 3


def write_heat(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    number, lead = heat_days(planting, material), "It stood through "
    of_heat = f" of {material.heat_words} or more"
    if number.estimate is not None and number.estimate.value == 0:
        words = f"{of_heat}: how it takes heat is not known."
        return [draft("heat_days", ABOUT, lead, Quoted(number), words, planting_id=planting.id)]
    days = draft("heat_days", ABOUT, lead, Quoted(number), f"{of_heat}.", planting_id=planting.id)
    return [days] if material.foliage_only else [days, _over_the_spell(planting, material)]


def bloom_over_spell(
    planting: PlantingMaterial, material: VerdictMaterial
) -> tuple[QuotableNumber, QuotableNumber, Estimate] | str:
    """Bloom cover before and after the longest hot spell and their difference; a sentence where it cannot be said."""
    spell = longest_hot_spell(planting, material)
    if spell is None or (spell[1] - spell[0]).days + 1 < SHORTEST_SPELL_DAYS:
        return "no hot spell of three days or more is known while it stood"
    before = _last_between(planting, spell[0] - timedelta(days=BEFORE_DAYS), spell[0])
    after = _first_between(planting, spell[1] + timedelta(days=SHOWS_AFTER_DAYS), spell[1] + timedelta(SHOWN_BY_DAYS))
    if before is None or after is None:
        return "bloom cover was not measured both before the longest hot spell and one to three weeks after it"
    numbers = tuple(
        QuotableNumber(key, planting.id, f"bloom cover {words} the longest hot spell", SHARE, point.bloom_cover,
                       on=point.taken_on, photo_ids=point.photo_ids)
        for key, words, point in (("bloom_before_heat", "before", before), ("bloom_after_heat", "after", after))
    )  # fmt: skip
    if before.bloom_cover is None or after.bloom_cover is None:
        return "bloom cover was not measured"
    return numbers[0], numbers[1], difference(before.bloom_cover, after.bloom_cover)


def _over_the_spell(planting: PlantingMaterial, material: VerdictMaterial) -> Draft:
    found, spell = bloom_over_spell(planting, material), longest_hot_spell(planting, material)
    if isinstance(found, str) or spell is None:
        return NotOffered("heat_bloom", ABOUT, str(found), planting.id)
    before, after, change = found
    word = "fell from " if change.high < 0 else "rose from " if change.low > 0 else "held, from "
    lead = f"Over the hot spell of {_span(*spell)} bloom cover {word}"
    end = ". Whether the heat did it, or a pause between flushes, is not told by this." if change.high < 0 else "."
    return draft("heat_bloom", ABOUT, lead, Quoted(before), " to ", Quoted(after), end, planting_id=planting.id)


def _bloom_between(planting: PlantingMaterial, first: date, last: date) -> list[SeasonPoint]:
    return [p for p in planting.days if p.bloom_cover is not None and first <= p.taken_on <= last]


def _last_between(planting: PlantingMaterial, first: date, last: date) -> SeasonPoint | None:
    return next(reversed(_bloom_between(planting, first, last)), None)


def _first_between(planting: PlantingMaterial, first: date, last: date) -> SeasonPoint | None:
    return next(iter(_bloom_between(planting, first, last)), None)


def _span(first: date, last: date) -> str:
    same_month = (first.year, first.month) == (last.year, last.month)
    return f"{first.day} to {day_words(last)}" if same_month else f"{day_words(first)} to {day_words(last)}"
