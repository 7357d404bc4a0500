"""The README beside the tables: what each field is mapped from, and what does not apply."""

from __future__ import annotations

from collections.abc import Mapping

from journal_server.services.leaving.miappe.fields import FILES, MAPPED, OBSERVATION, SECTIONS

README = "README.md"

_BEGINNING = """\
# A planting trial in the terms of MIAPPE

Made on {made_on} by the planting trial journal. The names of the fields follow the open check-list MIAPPE (Minimum
Information About a Plant Phenotyping Experiment), version 1.1, **as the makers of the journal remember it**: before you
hand the tables in somewhere, hold them against the list itself. No ontology terms were matched.

The tables are CSV (RFC 4180, UTF-8 with its mark, comma, decimal point), dates are ISO 8601. An empty cell means not
known, never 0. A text that a spreadsheet would take for a formula begins with an apostrophe. Columns in small letters
with underscores are the journal's own; the check-list does not name them.

Numbers measured from photos are shares of what the camera saw inside a frame, not leaf area; `low_90` and `high_90`
bound 90 % of what is expected. One planting is one observation unit: a difference between two may be the place. Photos
that are matched to no planting are not in the tables. People are not named; the site is named only where that was asked
for.
"""


def readme(made_on: str, rows: Mapping[str, int]) -> str:
    """The text, with the number of rows of each file."""
    parts = [_BEGINNING.format(made_on=made_on), "## Files\n"]
    parts.append("\n".join(f"- `{name}`: {rows.get(name, 0)} rows" for name in FILES.values()) + "\n")
    for section in (*SECTIONS, OBSERVATION):
        parts.append(_section(section))
    return "\n".join(parts)


def _section(section: str) -> str:
    file = f"`{FILES[section]}`" if section in FILES else "no table"
    about = ". The check-list asks for data files and leaves their form open" if section == OBSERVATION else ""
    here = [f"| {m.name} | {m.says} |" for m in MAPPED if m.section == section and m.column]
    left = [f"- {m.name}: {m.says}" for m in MAPPED if m.section == section and not m.column]
    lines = [f"## {section}\n", f"{file}{about}.\n"]
    if here:
        lines += ["| field | from |", "|---|---|", *here, ""]
    if left:
        lines += ["Left out:\n", *left, ""]
    return "\n".join(lines)
