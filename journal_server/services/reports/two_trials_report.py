"""Two trials side by side: what both grew, with differences that are more than measuring error told from others."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.analysis.comparison import QUANTITIES, Group
from journal_server.analysis.differences import difference, verdict_on
from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.ranking import group_estimate
from journal_server.analysis.series import SHARE_WORDS
from journal_server.domain.words import counted, listed
from journal_server.figures.ranking import change_words, value_words
from journal_server.measurement.result import Estimate
from journal_server.services.journal import Journal
from journal_server.services.reports.agreement_part import agreement_words
from journal_server.services.reports.document import (
    Block,
    Document,
    Figure,
    Figures,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from journal_server.services.reports.figures import HALF_PX, curves_by_age
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.notices import cultivar_notices, measured_days
from journal_server.services.reports.options import Options
from journal_server.services.reports.parts import (
    INTERVALS,
    ONE_PLANTER,
    SHARES,
    document_name,
    made,
    methods_words,
    picture_blocks,
)
from journal_server.services.reports.photo_choice import Chosen, peak_shot
from journal_server.services.reports.pictures import SMALL_PX
from journal_server.services.reports.plain_words import span_words
from journal_server.services.reports.season_parts import weather_words

COMPARED = ("season_bloom", "peak", "weeks_in_bloom", "days_to_50")
MOST_DRAWN = 12
"""Cultivars whose curves are drawn; the tables hold all."""
NOT_THE_SAME = (
    "The two trials differ in more than their cultivars: weather, soil, planters, care and the days of the photos. A "
    "difference is of the trials as they were, not of the cultivars alone."
)


def two_trials_report(journal: Journal, first: Gathered, second: Gathered, options: Options) -> Document:
    """``first`` stands at the left; a difference is second less first."""
    both, only_first, only_second = _shared(first, second)
    title = f"{first.words} and {second.words}"
    blocks: tuple[Block, ...] = (
        Paragraph((_summary(both, only_first, only_second),), "lead"),
        _facts(journal, first, second),
        *_weather(journal, first, second),
        Heading("What both grew"),
        *(_differences(first, second, both) or [Paragraph(("No cultivar grew in both trials.",))]),
        *_curves(first, second, both),
        *_only_in_one(first, second, only_first, only_second),
        *_pictures(journal, (first, second), both, options),
        Heading("What to know before trusting it"),
        Listing(tuple(_caveats(first, second))),
        Paragraph((f"{SHARES} {INTERVALS}",)),
        *(_checked(journal, side) for side in (first, second)),
    )
    sites = [one.trial.fields.get("site") for one in (first, second)]
    subtitle = listed([str(site) for site in dict.fromkeys(sites) if site]) if options.with_place else ""
    name = document_name("two trials", first.trial.id, second.trial.id)
    return Document(name, title, subtitle, made(title, options), blocks)


def short_names(first: Gathered, second: Gathered) -> tuple[str, str]:
    """Their years, or where these are the same their titles."""
    left, right = (str(side.trial.fields["year"]) for side in (first, second))
    return (left, right) if left != right else (first.words, second.words)


def _shared(first: Gathered, second: Gathered) -> tuple[list[str], list[str], list[str]]:
    """Ids of the cultivars that both grew, then those of one alone, by name."""
    names = {one.cultivar.id: one.name.casefold() for side in (first, second) for one in side.grown}
    left, right = ({one.cultivar.id for one in side.grown} for side in (first, second))
    by_name = sorted(names, key=lambda id_: (names[id_], id_))
    return (
        [id_ for id_ in by_name if id_ in left & right],
        [id_ for id_ in by_name if id_ in left - right],
        [id_ for id_ in by_name if id_ in right - left],
    )


def _summary(both: Sequence[str], only_first: Sequence[str], only_second: Sequence[str]) -> str:
    shared = f"{counted(len(both), 'cultivar')} grew in both trials" if both else "No cultivar grew in both trials"
    return f"{shared}; {len(only_first)} only in the first, {len(only_second)} only in the second."


def _facts(journal: Journal, first: Gathered, second: Gathered) -> Table:
    rows = tuple(
        (name, *(words(side) for side in (first, second)))
        for name, words in (
            ("year", lambda side: str(side.trial.fields["year"])),
            ("cultivars", lambda side: str(len({one.cultivar.id for one in side.grown})) if side.grown else "none"),
            ("plantings", lambda side: str(len(side.grown)) if side.grown else "none"),
            ("planted", _planted_words),
            ("photos", lambda side: str(sum(len(one.shots) for one in side.grown)) if side.grown else "none"),
            ("measured", _measured_words),
        )
    )
    return Table("The two trials", ("", first.words, second.words), rows, (1.0, 2.0, 2.0))


def _planted_words(side: Gathered) -> str:
    days = sorted({one.season.planted_on for one in side.grown})
    return span_words(days) if days else "nothing planted"


def _measured_words(side: Gathered) -> str:
    days = sorted({day for one in side.grown for day in measured_days(one)})
    return f"on {counted(len(days), 'day')} {span_words(days)}" if days else "never"


def _weather(journal: Journal, first: Gathered, second: Gathered) -> list[Block]:
    return [Paragraph((f"{side.words}. {weather_words(journal, side)}",)) for side in (first, second)]


def _differences(first: Gathered, second: Gathered, both: Sequence[str]) -> list[Block]:
    """One table for each number, one row for each cultivar."""
    blocks: list[Block] = []
    for of in COMPARED if both else ():
        rows = []
        for cultivar_id in both:
            left, right = first.of_cultivar(cultivar_id), second.of_cultivar(cultivar_id)
            (was, why_left), (now, why_right) = _value(left, of), _value(right, of)
            cells = [value_words(of, e) if e else f"not known: {why}" for e, why in ((was, why_left), (now, why_right))]
            rows.append((left[0].name, *cells, *_change(of, was, now)))
        words = QUANTITIES[of].words
        headers = ("cultivar", *short_names(first, second), "difference", "which is")
        title = f"{words[:1].upper()}{words[1:]}, with 90 % intervals"
        blocks.append(Table(title, headers, tuple(rows), (2.0, 1.7, 1.7, 1.6, 1.5)))
    return blocks


def _value(grown: Sequence[Grown], of: str) -> tuple[Estimate | None, str]:
    """The number of a cultivar in one trial, over its plantings there."""
    numbers: list[QuotableNumber] = [one.numbers[of] for one in grown]
    known = [number.estimate for number in numbers if number.estimate]
    if not known:
        return None, numbers[0].reason or "not measured"
    return group_estimate(known, QUANTITIES[of].most), ""


def _change(of: str, was: Estimate | None, now: Estimate | None) -> tuple[str, str]:
    if was is None or now is None:
        return "", "not known"
    change = difference(was, now)
    return change_words(of, change), verdict_on(change)


def _curves(first: Gathered, second: Gathered, both: Sequence[str]) -> list[Block]:
    """Of each cultivar that both grew, the two seasons on one picture by age, two pictures beside each other."""
    drawn = [figure for id_ in both[:MOST_DRAWN] if (figure := _curve(first, second, id_))]
    blocks: list[Block] = [Figures(tuple(drawn[at : at + 2])) for at in range(0, len(drawn), 2)]
    if len(both) > MOST_DRAWN:
        words = f"Curves of the first {MOST_DRAWN} cultivars are drawn; the tables hold all."
        blocks.append(Paragraph((words,), "quiet"))
    return blocks


def _curve(first: Gathered, second: Gathered, cultivar_id: str) -> Figure | None:
    sides = [(side, side.of_cultivar(cultivar_id)) for side in (first, second)]
    groups = [
        Group(side.trial.id, name, tuple(one.season for one in grown))
        for name, (side, grown) in zip(short_names(first, second), sides, strict=True)
    ]
    one = sides[0][1][0]
    of = "canopy_fill" if one.season.foliage_only else "bloom_cover"
    return curves_by_age(groups, of, first.gap_days, f"{one.name}, {SHARE_WORDS[of]} by week", HALF_PX)


def _only_in_one(
    first: Gathered, second: Gathered, only_first: Sequence[str], only_second: Sequence[str]
) -> list[Block]:
    items = []
    for side, ids in ((first, only_first), (second, only_second)):
        names = {one.cultivar.id: one.name for one in side.grown}
        items.append(f"Only in {side.words}: {listed([names[id_] for id_ in ids]) or 'none'}.")
    return [Heading("What only one grew", 3), Listing(tuple(items))]


def _checked(journal: Journal, side: Gathered) -> Paragraph:
    return Paragraph((f"{side.words}: {methods_words(side.grown)} {agreement_words(journal, side.trial.id)}",))


def _pictures(journal: Journal, sides: Sequence[Gathered], both: Sequence[str], options: Options) -> list[Block]:
    """Of each cultivar that both grew, its peak in the one and in the other beside each other."""
    chosen: list[Chosen] = []
    for cultivar_id in both[:MOST_DRAWN]:
        pair = [next(filter(None, map(peak_shot, side.of_cultivar(cultivar_id))), None) for side in sides]
        seen = [(one, name) for one, name in zip(pair, short_names(*sides), strict=True) if one]
        if len(seen) == len(sides):
            chosen += [Chosen(f"{one.one.name}, {name}", one.one, one.shot) for one, name in seen]
    blocks = picture_blocks(
        journal, chosen, "Each at its peak, chosen by the journal.", options, columns=4, longest_px=SMALL_PX
    )
    return [Heading("At their peak"), *blocks] if blocks else []


def _caveats(first: Gathered, second: Gathered) -> list[str]:
    said = [NOT_THE_SAME, ONE_PLANTER]
    for side in (first, second):
        for cultivar_id in dict.fromkeys(one.cultivar.id for one in side.grown):
            grown = side.of_cultivar(cultivar_id)
            notices = cultivar_notices(grown)
            if notices:
                said.append(f"{grown[0].name}, {side.words}: {' '.join(notices)}")
    return said
