"""A table as a CSV file that spreadsheet programs open as it is meant: RFC 4180, UTF-8 with its mark, unknown empty."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from journal_server.domain.markup import cell_text

Cell = str | int | float | bool | None


def csv_file(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return (
        f"{value:.6g}" if isinstance(value, float) else cell_text(str(value)) if isinstance(value, str) else str(value)
    )
