"""Tables as a data package (Frictionless Data, version 2): CSV files with a descriptor that says what each column is.

Data Package 2.0 and Table Schema 2.0, https://datapackage.org/standard/ (read 2026; the two profiles that the
descriptor names are the standard's own).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from journal_server.analysis.numbers import Column
from journal_server.domain.markup import FORMULA_BEGINNINGS, markdown_text

DESCRIPTOR = "datapackage.json"
PACKAGE_PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
RESOURCE_PROFILE = "https://datapackage.org/profiles/2.0/dataresource.json"
SCHEMA_PROFILE = "https://datapackage.org/profiles/2.0/tableschema.json"

_SIGNS = " ".join(sign for sign in FORMULA_BEGINNINGS if sign.strip() and sign.isascii())
ABOUT = (
    "Shares are fractions from 0 to 1, days are calendar days after planting, dates and moments are ISO 8601. NAME_low "
    "and NAME_high bound the 90 % interval of NAME. An empty cell is a number that is not known, never 0. A text that "
    f"begins with {_SIGNS}, a tab or a line end, which a spreadsheet program would take for a formula, has an "
    "apostrophe before it."
)


@dataclass(frozen=True)
class Table:
    """A table with its dictionary; ``key`` is never twice the same, ``points_to`` says whose key a column holds."""

    name: str
    title: str
    columns: Sequence[Column]
    csv: str
    key: str
    points_to: Mapping[str, str] = field(default_factory=dict)

    @property
    def file_name(self) -> str:
        return f"{self.name}.csv"

    @property
    def schema(self) -> dict[str, Any]:
        """The table's columns as a Table Schema."""
        pointing = [
            {"fields": [column], "reference": {"resource": table, "fields": [column]}}
            for column, table in self.points_to.items()
        ]
        return {
            "$schema": SCHEMA_PROFILE,
            "fields": [_field(column) for column in self.columns],
            "missingValues": [""],
            "primaryKey": [self.key],
            **({"foreignKeys": pointing} if pointing else {}),
        }


def package_files(title: str, tables: Sequence[Table]) -> Iterator[tuple[str, bytes]]:
    """The package's files by name, the descriptor first."""
    yield DESCRIPTOR, (json.dumps(_descriptor(title, tables), ensure_ascii=False, indent=2) + "\n").encode()
    yield "README.md", _readme(title, tables).encode()
    for table in tables:
        yield table.file_name, table.csv.encode()


def _descriptor(title: str, tables: Sequence[Table]) -> dict[str, Any]:
    return {
        "$schema": PACKAGE_PROFILE,
        "name": "planting-trial-numbers",
        "title": title,
        "description": ABOUT,
        "resources": [_resource(table) for table in tables],
    }


def _resource(table: Table) -> dict[str, Any]:
    content = table.csv.encode()
    return {
        "$schema": RESOURCE_PROFILE,
        "name": table.name,
        "type": "table",
        "path": table.file_name,
        "title": table.title,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
        "schema": table.schema,
    }


def _field(column: Column) -> dict[str, Any]:
    bounds = {"required": column.required or None, "minimum": column.least, "maximum": column.most}
    constraints = {name: bound for name, bound in (bounds | {"pattern": column.pattern}).items() if bound is not None}
    described = {"name": column.name, "type": column.kind, "description": column.description}
    if column.unit:
        described["unit"] = column.unit
    return described | ({"constraints": constraints} if constraints else {})


def _readme(title: str, tables: Sequence[Table]) -> str:
    """The dictionary as a person reads it."""
    lines = [f"# {markdown_text(title)}", "", ABOUT]
    for table in tables:
        lines += [
            "",
            f"## {table.file_name}",
            "",
            f"{table.title}.",
            "",
            "| column | what | unit |",
            "| --- | --- | --- |",
        ]
        lines += [f"| {c.name} | {markdown_text(c.description)} | {c.unit} |" for c in table.columns]
    return "\n".join(lines) + "\n"
