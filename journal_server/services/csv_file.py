"""Tables as CSV (RFC 4180): unknown empty, numbers with six digits, no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from journal_server.domain.markup import cell_text

Cell = str | int | float | bool | None


def csv_text(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def csv_file(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """In UTF-8 with its mark, by which spreadsheet programs know it."""
    return csv_text(headings, rows).encode("utf-8-sig")


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.6g}"
    return cell_text(value) if isinstance(value, str) else str(value)
