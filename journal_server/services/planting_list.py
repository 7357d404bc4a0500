"""Quick entry: a pasted list, one planting a line, becomes planters, cultivars and plantings, all or none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from journal_server.domain.planting_table import cells_of_row, guess_columns, read_list
from journal_server.errors import InputRefused
from journal_server.services.enter_plantings import Entering, ListRow, read_row
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch_after_change
from journal_server.storage.records import Record

MOST_ROWS = 500


@dataclass(frozen=True)
class ListOutcome:
    rows: list[ListRow]
    created: list[Record]

    @property
    def has_errors(self) -> bool:
        return any(row.errors for row in self.rows)

    def as_dict(self) -> dict[str, Any]:
        return {
            "rows": [row.as_dict() for row in self.rows],
            "created": [record.as_dict() for record in self.created],
        }


class Undo(Exception):
    """Leaves the transaction without keeping anything."""


def enter_planting_list(
    journal: Journal, trial_id: str, text: str, planted_on: str | None, *, dry_run: bool
) -> ListOutcome:
    """Read the list, check every row by really applying it, and keep the result only if all is well."""
    table = read_list(text)
    refuse_too_many(len(table.rows))
    columns = guess_columns(table)
    rows = [read_row(line, cells_of_row(cells, columns), planted_on=planted_on) for line, cells in table.rows]
    try:
        with journal.database.writing() as session:
            entering = Entering(session, trial_id)
            for row in rows:
                if entering.is_here(row.values):
                    says = "This planter already holds this cultivar from this date."
                    row.errors.append(InputRefused(says, "planter"))
                else:
                    entering.enter(row)
            if dry_run or any(row.errors for row in rows):
                raise Undo
    except Undo:
        return ListOutcome(rows, [])
    rematch_after_change(journal, entering.made)
    return ListOutcome(rows, entering.made)


def refuse_too_many(rows: int) -> None:
    if rows > MOST_ROWS:
        raise InputRefused(f"The list has {rows} plantings; at most {MOST_ROWS} go in at once.", "text")
