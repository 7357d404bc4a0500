"""Taking in any CSV of plantings (the order list of a nursery): looked at first, then written whole or not at all."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from journal_server.domain.planting_table import (
    cells_of_row,
    guess_columns,
    ignored_columns,
    kind_from_name,
    next_number,
    read_list,
    split_name,
)
from journal_server.domain.text_table import TextTable
from journal_server.domain.written_days import date_orders, needs_an_order
from journal_server.errors import InputRefused
from journal_server.services.enter_plantings import Entering, ListRow, read_row
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch_after_change
from journal_server.services.planting_list import Undo, refuse_too_many

NEW, HERE = "new", "here already"
"""What becomes of a row of the list."""
_NEW_PLANTERS = "Trough"


@dataclass(frozen=True)
class ListChoices:
    """How a person says that the list is to be read; what is None is guessed."""

    columns: dict[str, int | None] | None = None
    has_headings: bool | None = None
    date_order: str | None = None
    planted_on: str | None = None
    """The day, where a row gives none."""
    genus: str | None = None
    """The genus, where a row gives none; without it, it is looked for in the name."""
    planter_name: str | None = None
    """What new planters are called, one for each row that names none: with a number behind it."""
    planter_kind: str | None = None
    again: bool = False
    """Whether what stands in the trial from that day already is planted once more."""


@dataclass
class ListImport:
    choices: ListChoices
    table: TextTable
    rows: list[ListRow] = field(default_factory=list)
    becomes: dict[int, str] = field(default_factory=dict)
    date_orders: list[str] = field(default_factory=list)
    problems: list[InputRefused] = field(default_factory=list)
    """What is wrong with the list as a whole: a choice is missing."""
    written: int = 0

    @property
    def has_errors(self) -> bool:
        return bool(self.problems) or any(row.errors for row in self.rows)

    def as_dict(self) -> dict[str, Any]:
        columns = self.choices.columns or {}
        return {
            "choices": asdict(self.choices),
            "headings": self.table.headings,
            "sample": self.table.sample,
            "date_orders": self.date_orders,
            "ignored": ignored_columns(self.table, columns),
            "rows": [row.as_dict() | {"becomes": self.becomes.get(row.line)} for row in self.rows],
            "counts": dict(Counter(self.becomes.values())) | {"wrong": sum(bool(row.errors) for row in self.rows)},
            "problems": [{"field": e.field, "message": str(e)} for e in self.problems],
            "written": self.written,
        }


def import_planting_list(
    journal: Journal, trial_id: str, text: str, choices: ListChoices, *, dry_run: bool
) -> ListImport:
    """Read the list, check every row by really applying it, and keep the result only if all is well."""
    outcome = _read(read_list(text, choices.has_headings), choices)
    try:
        with journal.database.writing() as session:
            entering = Entering(session, trial_id)
            for row in outcome.rows:
                _enter(entering, row, outcome)
            if dry_run or outcome.has_errors:
                raise Undo
    except Undo:
        return outcome
    outcome.written = sum(record.kind == "planting" for record in entering.made)
    rematch_after_change(journal, entering.made)
    return outcome


def _read(table: TextTable, choices: ListChoices) -> ListImport:
    refuse_too_many(len(table.rows))
    columns = choices.columns or guess_columns(table)
    days = [words for _, cells in table.rows if (words := cells_of_row(cells, columns).get("planted_on"))]
    orders = sorted(date_orders(days)) if needs_an_order(days) else []
    name = choices.planter_name or _NEW_PLANTERS
    read = replace(
        choices,
        columns=columns,
        has_headings=bool(table.headings),
        date_order=choices.date_order or (orders[0] if len(orders) == 1 else None),
        planter_name=name,
        planter_kind=choices.planter_kind or kind_from_name(name),
    )
    outcome = ListImport(read, table, date_orders=orders, problems=_problems(read, orders, days))
    if not outcome.problems:
        outcome.rows = [_row(line, cells_of_row(cells, columns), read) for line, cells in table.rows]
    return outcome


def _problems(choices: ListChoices, orders: list[str], days: list[str]) -> list[InputRefused]:
    if (choices.columns or {}).get("cultivar") is None:
        return [InputRefused("Say which column holds the cultivar.", "cultivar")]
    if choices.date_order is None and len(orders) == 2:
        return [InputRefused("The dates can be read day first or month first; say which.", "date_order")]
    if choices.planted_on is None and not days:
        return [InputRefused("Say on which day they are planted; the list does not.", "planted_on")]
    return []


def _row(line: int, cells: dict[str, str], choices: ListChoices) -> ListRow:
    has_genus_column = (choices.columns or {}).get("genus") is not None
    if "genus" not in cells and (choices.genus or not has_genus_column):
        cells = _with_genus(cells, choices)
    row = read_row(line, cells, planted_on=choices.planted_on, date_order=choices.date_order)
    if "planter" not in cells and "planter_kind" not in cells:
        row.values["planter_kind"] = choices.planter_kind
    return row


def _with_genus(cells: dict[str, str], choices: ListChoices) -> dict[str, str]:
    """The genus that was said for all, else the one in the name; what else stands in the name goes into the note."""
    words = cells.get("cultivar", "")
    genus, species, cultivar, more = split_name(words)
    if choices.genus:
        quoted = genus is not None and genus.lower() == choices.genus.lower()
        return cells | {"genus": choices.genus} | ({"cultivar": cultivar} if quoted else {})
    found = cells | {"cultivar": cultivar}
    if genus:
        found["genus"] = genus
    if species:
        found.setdefault("species", species)
    if more:
        found["note"] = " ".join(filter(None, (cells.get("note"), f"On the list: {words}")))
    return found


def _enter(entering: Entering, row: ListRow, outcome: ListImport) -> None:
    choices = outcome.choices
    if not row.errors and not choices.again and entering.is_here(row.values):
        outcome.becomes[row.line] = HERE
        return
    if not row.values.get("planter") and choices.planter_name:
        number = next_number(choices.planter_name, list(entering.planters))
        row.values["planter"] = f"{choices.planter_name} {number}"
    entering.enter(row)
    if not row.errors:
        outcome.becomes[row.line] = NEW
