"""Text of a spreadsheet or a list as rows of cells, whatever separates them. Pure."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

from journal_server.errors import InputRefused

SEPARATORS = "\t;,|"
LONGEST_CELL = 131_072
"""Characters; the reader's own limit is one for the whole process, and whatever is loaded beside may have moved it."""
_LOOKED_AT = 50
_SAYS_SEPARATOR = re.compile(r"\s*sep=(.)\s*")
"""A first line by which spreadsheet programs tell each other the separator."""

Row = tuple[int, tuple[str, ...]]
"""The number of the line on which it begins, counted from 1, and its cells without the space around them."""


@dataclass(frozen=True)
class TextTable:
    """``headings`` is empty where the text begins with a row."""

    headings: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def width(self) -> int:
        return max((len(cells) for _, cells in self.rows), default=len(self.headings))

    @property
    def sample(self) -> list[tuple[str, ...]]:
        return [cells for _, cells in self.rows[:3]]


def read_cells(text: str, *, comments: str = "") -> list[Row]:
    """The rows that hold anything; those that begin with ``comments`` are passed over.

    Raises InputRefused where the text is empty.
    """
    lines = text.removeprefix("\ufeff").splitlines()
    filled = [line for line in lines if line.strip()]
    if not filled:
        raise InputRefused("There is nothing in it: the text is empty.", "text")
    said = _SAYS_SEPARATOR.fullmatch(filled[0])
    separator = said[1] if said else _separator(filled[:_LOOKED_AT])
    rows = _read(text.removeprefix("\ufeff"), lines, separator)
    if any(len(cell) > LONGEST_CELL for _, cells in rows for cell in cells):
        raise InputRefused("This cannot be read as a table (a cell has no end).", "text")
    return [
        (number, cells)
        for number, cells in rows
        if any(cells)
        and not (comments and cells[0].startswith(comments))
        and not (said and number == lines.index(filled[0]) + 1)
    ]


def _separator(lines: list[str]) -> str:
    return max(SEPARATORS, key=lambda mark: sum(mark in line for line in lines))


def _read(text: str, lines: list[str], separator: str) -> list[Row]:
    """Cells in quotes may hold line ends; where a quote is never closed each line stands for itself."""
    try:
        if text.count('"') % 2 == 0:
            return _by_reader(text, separator)
        rows = [(number, _by_reader(line, separator)) for number, line in enumerate(lines, start=1)]
        return [(number, cells) for number, read in rows for _, cells in read]
    except csv.Error as error:
        raise InputRefused(f"This cannot be read as a table ({error}).", "text") from error


def _by_reader(text: str, separator: str) -> list[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    rows, begins = [], 1
    for cells in reader:
        rows.append((begins, tuple(re.sub(r"\s*[\r\n]+\s*", " ", cell).strip() for cell in cells)))
        begins = reader.line_num + 1
    return rows
