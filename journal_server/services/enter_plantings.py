"""One row of a list becomes planter, cultivar and planting, within a transaction that the caller may undo."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain import planting_table
from journal_server.domain.planting_table import COLUMNS
from journal_server.domain.records import check_fields, complete_fields
from journal_server.errors import InputRefused
from journal_server.services.apply_changes import Change, ChangeResult, apply_change
from journal_server.services.existing import existing
from journal_server.storage.records import Record, load_records


@dataclass
class ListRow:
    """A row as read: what is understood in the form that is kept, what is not as it was typed, with its error."""

    line: int
    values: dict[str, Any]
    errors: list[InputRefused] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        errors = [{"field": e.field, "message": str(e)} for e in self.errors]
        return {"line": self.line} | {c: self.values.get(c) for c in COLUMNS} | {"errors": errors}


def read_row(
    line: int, cells: Mapping[str, str], *, planted_on: str | None = None, date_order: str | None = None
) -> ListRow:
    """A row of named cells; ``planted_on`` stands in where the row gives no day."""
    row = ListRow(line, dict(cells))
    readers: dict[str, Callable[[str], Any]] = {
        "plants": planting_table.read_plants,
        "planted_on": lambda words: planting_table.read_planted_on(words, date_order),
        "exposure": planting_table.read_exposure,
        "cultivar": lambda words: planting_table.without_quotes(words) or None,
    }
    for name, read in readers.items():
        if name in cells:
            try:
                row.values[name] = read(cells[name])
            except InputRefused as error:
                row.errors.append(InputRefused(str(error), name))
    row.values.setdefault("planted_on", planted_on)
    for name in ("bloom_colours", "foliage_colours"):
        row.values[name] = planting_table.read_colours(cells.get(name, ""))
    row.values.setdefault("planter_kind", planting_table.kind_from_name(cells.get("planter", "")))
    return row


class Entering:
    """Enters rows one after the other, and knows what is there already, what it made itself included."""

    def __init__(self, session: Session, trial_id: str):
        existing(session, "trial", trial_id)
        self._session = session
        self.trial_id = trial_id
        planters = load_records(session, "planter", equals={"trial_id": trial_id})
        self.planters = {str(r.fields["name"]): r for r in planters}
        self._cultivars = {(r.fields["genus"], r.fields["name"]): r for r in load_records(session, "cultivar")}
        self._plantings = {
            tuple(r.fields[name] for name in ("planter_id", "cultivar_id", "planted_on"))
            for r in load_records(session, "planting", equals={"trial_id": trial_id})
        }
        self._before = frozenset(self._plantings)
        self.made: list[Record] = []

    def is_here(self, values: Mapping[str, Any]) -> bool:
        """Whether the cultivar stands in that planter from that day already.

        Without a planter: in any of the trial, as it was before: a list may name a cultivar twice.
        """
        cultivar = self._cultivars.get((values.get("genus"), values.get("cultivar")))
        if cultivar is None:
            return False
        day = values.get("planted_on")
        if not values.get("planter"):
            return any(planting[1:] == (cultivar.id, day) for planting in self._before)
        planter = self.planters.get(values["planter"])
        return planter is not None and (planter.id, cultivar.id, day) in self._plantings

    def enter(self, row: ListRow) -> None:
        """Make what the row tells of; what is refused stands at the row."""
        values = row.values
        planter = self.planters.get(str(values.get("planter"))) or self._make(
            row, "planter", {"trial_id": self.trial_id, "name": values.get("planter")}
            | {name: values.get(name) for name in ("planter_kind", "exposure")},
        )  # fmt: skip
        cultivar = self._cultivars.get((values.get("genus"), values.get("cultivar"))) or self._make(
            row, "cultivar", {"name": values.get("cultivar")}
            | {name: values.get(name) for name in ("genus", "species", "bloom_colours", "foliage_colours")},
        )  # fmt: skip
        if planter is not None:
            self.planters[str(planter.fields["name"])] = planter
        if cultivar is not None:
            self._cultivars[(cultivar.fields["genus"], cultivar.fields["name"])] = cultivar
        own = {name: values.get(name) for name in ("planted_on", "plants", "card_code", "note")}
        if planter is None or cultivar is None or row.errors:
            # The row fails already; still say what is wrong with the rest of it.
            said = {error.field for error in row.errors}
            row.errors += [e for e in check_fields("planting", own)[1] if e.field not in said]
            return
        fields = {"trial_id": self.trial_id, "planter_id": planter.id, "cultivar_id": cultivar.id, **own}
        made = self._keep(row, apply_change(self._session, Change("planting", str(uuid.uuid4()), fields)), {})
        if made is not None:
            self._plantings.add((planter.id, cultivar.id, made.fields["planted_on"]))

    def _make(self, row: ListRow, kind: str, given: dict[str, Any]) -> Record | None:
        change = Change(kind, str(uuid.uuid4()), complete_fields(kind, given))
        return self._keep(row, apply_change(self._session, change), {"name": kind})

    def _keep(self, row: ListRow, result: ChangeResult, columns: Mapping[str, str]) -> Record | None:
        """Note what was made, or what was refused under the name of the list's column."""
        for error in result.errors:
            row.errors.append(InputRefused(str(error), columns.get(error.field or "", error.field)))
        if result.record is None or result.errors:
            return None
        self.made.append(result.record)
        return result.record
