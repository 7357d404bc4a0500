"""What a report says of single plantings: their numbers, how they stood, what was noted and done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from statistics import median
from typing import Any

from journal_server.analysis.quotable import WORDS, QuotableNumber
from journal_server.domain.dates import day_words, full_day_words
from journal_server.domain.words import counted, listed
from journal_server.figures.words import quotable_value
from journal_server.services.compare_plantings import survival_words
from journal_server.services.journal import Journal
from journal_server.services.reports.document import Block, KeyNumber, KeyNumbers, Paragraph, Strong, Table
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.notices import measured_days
from journal_server.services.reports.parts import unknown_listing
from journal_server.services.reports.plain_words import beside_words, span_words, times, value_words
from journal_server.services.timeline import NOT_CARE
from journal_server.storage.records import load_records
from journal_server.storage.season_rows import load_care_rows

FIRST_SEEN = ("peak", "season_bloom", "weeks_in_bloom", "days_to_50")
FIRST_SEEN_LEAVES = ("canopy_fill_latest", "full_size", "days_to_50", "days_to_90")
IN_SHORT = {
    "peak": "Peak bloom",
    "season_bloom": "Season bloom",
    "weeks_in_bloom": "In bloom for",
    "days_to_50": "Half full after",
    "days_to_90": "Nine tenths full after",
    "full_size": "Canopy fill, full size",
    "canopy_fill_latest": "Canopy fill, latest",
}
COUNTED = ("survival",)
"""What no photo is needed for."""
IN_THE_TABLE = tuple(key for key in WORDS if key not in ("plants_living", "plants_planted"))
MOST_BESIDE = 3
"""Plantings whose numbers stand beside each other in one table."""
RATED = ("overall", "vigour", "flower", "habit", "health")


def key_numbers(one: Grown, *, stacked: bool = False) -> KeyNumbers:
    """The four numbers that are looked for first."""
    keys = FIRST_SEEN_LEAVES if one.season.foliage_only else FIRST_SEEN
    return KeyNumbers(tuple(_key_number(one.numbers[key]) for key in keys), stacked)


def _key_number(number: QuotableNumber) -> KeyNumber:
    return KeyNumber(IN_SHORT[number.key], quotable_value(number) if number.estimate else None, beside_words(number))


def numbers_part(grown: Sequence[Grown]) -> list[Block]:
    """All numbers in a table; those that nobody has are listed with their reasons instead."""
    blocks: list[Block] = []
    if not all(_unknown(one) == set(IN_THE_TABLE) for one in grown):
        if len(grown) == 1:
            blocks.append(_table_of_one(grown[0]))
        else:
            blocks += [_table_of_several(grown[at : at + MOST_BESIDE]) for at in range(0, len(grown), MOST_BESIDE)]
    for one in grown:
        blocks += unknown_listing(_reasons(one), f" of {one.season.place}" if len(grown) > 1 else "")
    return blocks


def _reasons(one: Grown) -> list[tuple[str, str]]:
    """What is not known and why; where no photo was measured, one reason for all that photos tell."""
    unknown = [key for key in IN_THE_TABLE if key in _unknown(one)]
    if measured_days(one):
        return [(WORDS[key], one.numbers[key].reason or "not measured") for key in unknown]
    counted_only = [key for key in unknown if key in COUNTED]
    why = "no photo could be measured" if one.shots else "no photo was taken"
    return [
        ("all that is measured on photos", why),
        *((WORDS[key], one.numbers[key].reason or "not counted") for key in counted_only),
    ]


def _unknown(one: Grown) -> set[str]:
    return {key for key in IN_THE_TABLE if one.numbers[key].estimate is None}


def _table_of_one(one: Grown) -> Table:
    known = [number for number in _in_the_table(one) if number.estimate]
    years = {number.on.year for number in known if number.on}
    said = day_words if len(years) == 1 else full_day_words
    rows = tuple((number.words, _value(one, number), said(number.on) if number.on else "") for number in known)
    headers = ("number", "with 90 % interval", "on, or until")
    return Table("Numbers", headers, rows, (2.5, 1.5, 0.9))


def _value(one: Grown, number: QuotableNumber) -> str:
    return survival_words(one.planted.survival) if number.key == "survival" else value_words(number)


def _table_of_several(grown: Sequence[Grown]) -> Table:
    nobody = set.intersection(*map(_unknown, grown))
    rows = [(WORDS[key], *(_cell(one, one.numbers[key]) for one in grown)) for key in IN_THE_TABLE if key not in nobody]
    headers = ("number, with 90 % interval", *(one.season.place for one in grown))
    return Table("Numbers, planter by planter", headers, tuple(rows), (2.2, *(1.5,) * len(grown)))


def _cell(one: Grown, number: QuotableNumber) -> str:
    on = f", {day_words(number.on)}" if number.on and number.key == "peak" else ""
    return f"{_value(one, number)}{on}" if number.estimate else "not known"


def _in_the_table(one: Grown) -> list[QuotableNumber]:
    return [one.numbers[key] for key in IN_THE_TABLE]


def plantings_table(grown: Sequence[Grown]) -> Table:
    """Where, from when to when, how many, how often seen."""
    headers = ("planter", "kind and light", "planted", "removed", "plants", "photos")
    rows = tuple(
        (
            one.season.place,
            f"{one.stored.planter['planter_kind']}, {one.planted.light}",
            full_day_words(one.season.planted_on),
            full_day_words(one.season.removed_on) if one.season.removed_on else "no",
            survival_words(one.planted.survival),
            _seen(one),
        )
        for one in grown
    )
    return Table("Where and how long it grew", headers, rows, (1.2, 1.6, 1.2, 1.2, 1.7, 2.2))


def planting_words(one: Grown) -> Paragraph:
    """The same of one planting in a few sentences."""
    season = one.season
    removed = f"removed on {full_day_words(season.removed_on)}" if season.removed_on else "not removed"
    planter = f"{season.place} ({one.stored.planter['planter_kind']}, {one.planted.light})"
    planted = f"planted on {full_day_words(season.planted_on)}, {removed}"
    said = f"{planter}: {planted}; {survival_words(one.planted.survival)}. Photos: {_seen(one)}."
    return Paragraph((Strong("The planting. "), said))


def _seen(one: Grown) -> str:
    if not one.shots:
        return "none"
    days = measured_days(one)
    on = f", measured on {counted(len(days), 'day')} {span_words(days)}" if days else ", none measured"
    return f"{len(one.shots)}{on}"


def noted_part(journal: Journal, grown: Sequence[Grown]) -> list[Block]:
    """Findings and ratings of the walks, one sentence each for a planting."""
    ids = [one.season.planting_id for one in grown]
    with journal.database.reading() as session:
        findings = load_records(session, "finding", among={"planting_id": ids})
        ratings = load_records(session, "rating", among={"planting_id": ids})
    blocks: list[Block] = []
    for one in grown:
        id_ = one.season.planting_id
        found = Counter(str(r.fields["what"]) for r in findings if r.fields["planting_id"] == id_)
        rated = [r.fields for r in ratings if r.fields["planting_id"] == id_]
        said = [f"{what} ({times(count)})" for what, count in found.most_common()]
        words = f"Noted on walks: {listed(said)}." if said else "Nothing was noted on the walks."
        judged = _ratings_words(rated)
        where = (Strong(f"{one.season.place}. "),) if len(grown) > 1 else ()
        blocks.append(Paragraph((*where, f"{words} {judged}")))
    return blocks


def _ratings_words(rated: Sequence[dict[str, Any]]) -> str:
    if not rated:
        return "Nobody rated it."
    raters = sorted({str(one["rater"]) for one in rated if one["rater"]})
    by = f" by {listed(raters)}" if raters else ""
    said = []
    for name in RATED:
        given = [one[name] for one in rated if one[name] is not None]
        if given:
            between = f" ({min(given)}–{max(given)})" if min(given) < max(given) else ""
            said.append(f"{name} {median(given):g}{between}")
    return f"Rated {times(len(rated))}{by}, from 1 to 5, median and range: {', '.join(said)}."


def care_part(journal: Journal, gathered: Gathered, grown: Sequence[Grown]) -> list[Block]:
    """What was done to these plantings, that of the whole trial included."""
    ids = [one.season.planting_id for one in grown]
    with journal.database.reading() as session:
        rows = load_care_rows(session, gathered.trial.id, ids)
    blocks: list[Block] = []
    for one in grown:
        own = [row for row in rows if row.planting_id in (None, one.season.planting_id) and row.action not in NOT_CARE]
        days: dict[str, set[str]] = {}
        for row in own:
            days.setdefault(row.action, set()).add(row.done_on)
        said = [f"{action} {_on(len(on), on)}" for action, on in sorted(days.items(), key=lambda kv: min(kv[1]))]
        where = (Strong(f"{one.season.place}. "),) if len(grown) > 1 else ()
        words = f"Care noted: {listed(said)}." if said else "No care was noted."
        blocks.append(Paragraph((*where, words)))
    return blocks


def _on(count: int, on: set[str]) -> str:
    return f"on {day_words(date.fromisoformat(next(iter(on))))}" if count == 1 else f"on {count} days"
