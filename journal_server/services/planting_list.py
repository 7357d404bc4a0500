"""Quick entry: a pasted list, one planting a line, becomes planters, cultivars and plantings, all or none."""

from __future__ import annotations

import csv
import io
import re
import uuid
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.records import EXPOSURES, PLANTER_KINDS, check_fields, complete_fields
from journal_server.errors import InputRefused, NotFound
from journal_server.services.apply_changes import Change, ChangeResult, apply_change
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch_after_change
from journal_server.storage.records import Record, load_record, load_records

COLUMNS = (
    "planter", "cultivar", "genus", "plants", "exposure", "planted_on", "planter_kind", "bloom_colours",
    "foliage_colours", "card_code",
)  # fmt: skip
HEADINGS = {
    "planter": "planter", "place": "planter", "cultivar": "cultivar", "variety": "cultivar", "name": "cultivar",
    "genus": "genus", "plants": "plants", "number of plants": "plants", "exposure": "exposure", "sun": "exposure",
    "planted on": "planted_on", "planted": "planted_on", "date": "planted_on", "kind": "planter_kind",
    "planter kind": "planter_kind", "bloom colours": "bloom_colours", "colours": "bloom_colours",
    "foliage colours": "foliage_colours", "card": "card_code", "card code": "card_code",
}  # fmt: skip
MOST_ROWS = 500


@dataclass
class ListRow:
    line: int
    values: dict[str, Any]
    errors: list[InputRefused] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        errors = [{"field": e.field, "message": str(e)} for e in self.errors]
        return {"line": self.line} | {c: self.values.get(c) for c in COLUMNS} | {"errors": errors}


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


def enter_planting_list(
    journal: Journal, trial_id: str, text: str, planted_on: str | None, *, dry_run: bool
) -> ListOutcome:
    """Read the list, check every row by really applying it, and keep the result only if all is well."""
    rows = read_list(text, planted_on)
    created: list[Record] = []
    try:
        with journal.database.writing() as session:
            trial = load_record(session, trial_id)
            if trial is None or trial.kind != "trial" or trial.deleted:
                raise NotFound("There is no such trial.")
            for row in rows:
                created += _enter_row(session, trial_id, row)
            if dry_run or any(row.errors for row in rows):
                raise _Undo
    except _Undo:
        return ListOutcome(rows, [])
    rematch_after_change(journal, created)
    return ListOutcome(rows, created)


class _Undo(Exception):
    """Leaves the transaction without keeping anything."""


def read_list(text: str, planted_on: str | None) -> list[ListRow]:
    """Split the text into rows of named values; separators and headings are recognised, nothing is checked yet."""
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if not lines:
        raise InputRefused("The list is empty; give one planting a line.", "text")
    if len(lines) > MOST_ROWS + 1:
        raise InputRefused(f"The list has {len(lines)} lines; at most {MOST_ROWS} go in at once.", "text")
    separator = max("\t;,", key=lambda s: sum(s in line for _, line in lines))
    cells = [
        (n, [c.strip() for c in next(csv.reader(io.StringIO(line), delimiter=separator, strict=False))])
        for n, line in lines
    ]
    columns: tuple[str | None, ...] = COLUMNS
    headings = [HEADINGS.get(re.sub(r"[\s_]+", " ", c.lower())) for c in cells[0][1]]
    if sum(h is not None for h in headings) >= max(1, (len(headings) + 1) // 2):
        columns, cells = tuple(headings), cells[1:]
        if not cells:
            raise InputRefused("The list has a heading but no planting below it.", "text")
    return [ListRow(n, _values(columns, row, planted_on)) for n, row in cells]


def _values(columns: tuple[str | None, ...], row: list[str], planted_on: str | None) -> dict[str, Any]:
    values: dict[str, Any] = {name: cell for name, cell in zip(columns, row, strict=False) if name is not None and cell}
    values.setdefault("planted_on", planted_on or None)
    values["cultivar"] = (values.get("cultivar") or "").strip("'‘’\"") or None
    for name in ("bloom_colours", "foliage_colours"):
        values[name] = [f"#{c}" for c in re.findall(r"[^\s,/|#]+", values.get(name) or "")]
    kind = values.get("planter_kind") or _kind_from_name(values.get("planter") or "")
    return values | {"planter_kind": kind}


def _kind_from_name(name: str) -> str:
    lowered = name.lower()
    return next((kind for kind in PLANTER_KINDS if kind in lowered or kind.split()[-1] in lowered), "trough")


def _enter_row(session: Session, trial_id: str, row: ListRow) -> list[Record]:
    values = row.values
    exposure = (values.get("exposure") or "").lower()
    exposure = next((e for e in EXPOSURES if e == exposure), values.get("exposure"))
    if _already_entered(session, trial_id, values):
        row.errors.append(InputRefused("This planter already holds this cultivar from this date.", "planter"))
        return []
    made: list[Record] = []
    planter = _find_or_make(
        session, row, made, "planter", {"name": values.get("planter"), "trial_id": trial_id},
        {"planter_kind": values["planter_kind"], "exposure": exposure},
        {"name": "planter"},
    )  # fmt: skip
    cultivar = _find_or_make(
        session, row, made, "cultivar", {"name": values.get("cultivar"), "genus": values.get("genus")},
        {"bloom_colours": values["bloom_colours"], "foliage_colours": values["foliage_colours"]},
        {"name": "cultivar"},
    )  # fmt: skip
    planting_fields = {
        "trial_id": trial_id, "planter_id": planter.id if planter else None,
        "cultivar_id": cultivar.id if cultivar else None, "planted_on": values.get("planted_on"),
        "plants": values.get("plants"), "card_code": values.get("card_code"),
    }  # fmt: skip
    if planter and cultivar:
        _keep(row, made, apply_change(session, Change("planting", str(uuid.uuid4()), planting_fields)), {})
    else:  # the row fails already; still say what is wrong with the rest of it
        rest = {k: v for k, v in planting_fields.items() if k in ("planted_on", "plants", "card_code")}
        row.errors += check_fields("planting", rest)[1]
    return made


def _already_entered(session: Session, trial_id: str, values: dict[str, Any]) -> bool:
    planters = {r.id for r in load_records(session, "planter") if _named(r, values.get("planter"), trial_id)}
    cultivars = {
        r.id
        for r in load_records(session, "cultivar")
        if r.fields["name"] == values.get("cultivar") and r.fields["genus"] == values.get("genus")
    }
    return any(
        p.fields["planter_id"] in planters
        and p.fields["cultivar_id"] in cultivars
        and p.fields["planted_on"] == values.get("planted_on")
        for p in load_records(session, "planting")
    )


def _named(planter: Record, name: str | None, trial_id: str) -> bool:
    return bool(planter.fields["name"] == name and planter.fields["trial_id"] == trial_id)


def _find_or_make(
    session: Session,
    row: ListRow,
    made: list[Record],
    kind: str,
    key: dict[str, Any],
    rest: dict[str, Any],
    columns: dict[str, str],
) -> Record | None:
    for record in load_records(session, kind):
        if all(record.fields.get(name) == value for name, value in key.items()):
            return record
    fields = complete_fields(kind, key | rest)
    return _keep(row, made, apply_change(session, Change(kind, str(uuid.uuid4()), fields)), columns)


def _keep(row: ListRow, made: list[Record], result: ChangeResult, columns: dict[str, str]) -> Record | None:
    """Note what was made, or what was refused under the name of the list's column."""
    for error in result.errors:
        row.errors.append(InputRefused(str(error), columns.get(error.field or "", error.field)))
    if result.record is not None and not result.errors:
        made.append(result.record)
        return result.record
    return None
