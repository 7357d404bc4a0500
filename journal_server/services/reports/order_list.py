"""The order list for next year, from the verdicts: more, again, elsewhere, drop, and what is not decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from journal_server.domain.cultivar_names import words_of_fields
from journal_server.domain.verdict_fields import PLACE_WORDS
from journal_server.domain.words import counted, listed
from journal_server.services.journal import Journal
from journal_server.services.reports.document import Block, Document, Heading, Notice, Paragraph, Strong, Table
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.notices import planting_notices
from journal_server.services.reports.options import Options
from journal_server.services.reports.parts import document_name, made, subtitle
from journal_server.storage.records import Record

SECTIONS = (
    ("more", "More of it"),
    ("again", "Again"),
    ("try elsewhere", "Try elsewhere"),
    ("drop", "Drop"),
    (None, "Undecided"),
)
ORDERED = ("more", "again", "try elsewhere")


@dataclass(frozen=True)
class Line:
    """One cultivar in one kind of place, with its verdict, if there is one; its plantings may be gone."""

    cultivar: Record
    place: str
    grown: tuple[Grown, ...]
    verdict: dict[str, Any]

    @property
    def name(self) -> str:
        return words_of_fields(self.cultivar.fields)

    @property
    def stood(self) -> str:
        planters = listed([one.season.place for one in self.grown]) or "its planting is no longer there"
        return f"{planters}, {PLACE_WORDS[self.place]}" if self.place == "ground" else planters

    @property
    def next_year(self) -> str | None:
        said = self.verdict.get("next_year")
        return str(said) if said else None

    @property
    def plants_next_year(self) -> int | None:
        return self.verdict.get("next_year_plants")

    @property
    def plants_this_year(self) -> str:
        known = [one.season.plants for one in self.grown]
        if None in known or not known:
            return "not said"
        return str(sum(count for count in known if count is not None))


def order_list(journal: Journal, gathered: Gathered, options: Options) -> Document:
    """One row for each cultivar and kind of place, under what its verdict says of next year."""
    lines = _lines(gathered)
    blocks: list[Block] = [Paragraph(_total(lines), "lead")]
    doubtful = _doubts(lines)
    if doubtful:
        blocks.append(Notice(tuple(doubtful)))
    for answer, words in SECTIONS:
        own = [line for line in lines if line.next_year == answer]
        if own:
            blocks += [Heading(words), _table(own, ordered=answer in ORDERED)]
    if not lines:
        blocks.append(Paragraph(("Nothing is planted in this trial yet.",)))
    title = f"Order list after {gathered.trial.fields['year']}"
    return Document(
        document_name(f"order list {gathered.words}", gathered.trial.id),
        title,
        subtitle(gathered, options),
        made(f"{title}: {gathered.words}", options),
        tuple(blocks),
    )


def _lines(gathered: Gathered) -> list[Line]:
    keys: dict[tuple[str, str], list[Grown]] = {key: [] for key in gathered.verdicts}
    for one in gathered.grown:
        keys.setdefault((one.cultivar.id, one.place), []).append(one)
    lines = [
        Line(gathered.cultivars[id_], place, tuple(grown), gathered.verdict(id_, place) or {})
        for (id_, place), grown in keys.items()
    ]
    return sorted(lines, key=lambda line: (line.name.casefold(), line.place))


def _total(lines: list[Line]) -> tuple[str | Strong, ...]:
    """How many plants to order; a number that nobody said makes it a least number."""
    wanted = [line for line in lines if line.next_year in ORDERED]
    if not wanted:
        return ("No verdict says yet what is wanted next year.",)
    known = [line.plants_next_year for line in wanted if line.plants_next_year is not None]
    unsaid = len(wanted) - len(known)
    what = counted(len(wanted), "entry", "entries")
    if not known:
        return (f"{what} wanted next year; how many plants of each is not said.",)
    plants = counted(sum(known), "plant")
    if not unsaid:
        return (Strong(plants), f" for {what}.")
    return (Strong(f"At least {plants}"), f" for {what}; for {unsaid} of them the number is not said.")


def _doubts(lines: list[Line]) -> list[str]:
    """What matters when plants are ordered by name."""
    said = []
    for line in lines:
        earlier = [str(name) for name in line.cultivar.fields.get("earlier_names") or []]
        if earlier:
            said.append(f"{line.name} was called {listed(earlier)} earlier.")
        said += [
            f"{line.name}, {one.season.place}: {words}"
            for one in line.grown
            for words in planting_notices(one)
            if "identity" in words
        ]
    return list(dict.fromkeys(said))


def _table(lines: list[Line], *, ordered: bool) -> Table:
    headers = ("cultivar", "grown", *(["plants next year"] if ordered else []), "plants this year", "verdict")
    rows = []
    for line in lines:
        plants = "not said" if line.plants_next_year is None else str(line.plants_next_year)
        rows.append(
            (
                line.name,
                line.stood,
                *([plants] if ordered else []),
                line.plants_this_year,
                _verdict_words(line),
            )
        )
    widths = (2.4, 1.8, 0.9, 0.9, 3.0) if ordered else (2.4, 1.8, 0.9, 3.9)
    return Table(counted(len(lines), "entry", "entries"), headers, tuple(rows), widths)


def _verdict_words(line: Line) -> str:
    if not line.verdict:
        return "no verdict yet"
    one_line = str(line.verdict.get("one_line") or "").strip()
    return one_line or {
        "yes": "would grow again",
        "no": "would not grow again",
        "again elsewhere": "would grow again elsewhere",
        "undecided": "undecided",
    }.get(str(line.verdict.get("grow_again")), "nothing is said of it")
