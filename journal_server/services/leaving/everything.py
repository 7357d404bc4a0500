"""All of a journal in open forms, for leaving it: files with readable names, records as JSON and CSV, the numbers."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from journal_server.domain.field_words import field_words
from journal_server.domain.markup import file_slug
from journal_server.domain.records import KINDS
from journal_server.services.csv_file import Cell, csv_file
from journal_server.services.journal import Journal
from journal_server.services.leaving.zip_stream import Member
from journal_server.services.numbers_out import load_numbers, numbers_package
from journal_server.storage.recordings import all_recording_files
from journal_server.storage.records import Record, all_measurements, all_photo_files, load_records

Tell = Callable[[int, int], None]
OF_EVERY_RECORD = {
    "id": "UUID of the record",
    "deleted": "true where it was deleted; what it held is kept",
    "version": "how often it was changed",
    "seq": "its place in the order of all changes",
}
README = """# Everything of this journal

Written by the planting trial journal {version} on {day}. Nothing here needs that program to be read.

- `photos/` and `recordings/`: the files as they were taken in, byte for byte, under readable names. **Photos may carry
  where they were taken (GPS).** `files.csv` says of each which record it belongs to and what it was named before.
- `records/KIND.json`: every record of a kind with all its fields, deleted ones too; `records/KIND.csv`: the same as
  a table: lists as JSON in a cell, numbers with six digits, a mark (') before what would be run as a formula.
- `measurements.json`: every measurement ever made, with intervals, method, reasons and warnings; the newest last.
- `numbers/`: the current numbers as tables, with a dictionary of their columns.
- `data_dictionary.csv`: what each field of each kind of record holds, and which records it points to (by `id`).
- `settings.json`: the settings.
- `SHA256SUMS`: of every other file; `sha256sum -c SHA256SUMS` in this folder verifies them.

Days are YYYY-MM-DD, moments ISO 8601, colours #rrggbb, shares fractions (0.61 is 61 %), lengths cm, temperatures °C,
rain mm. Not here: devices and their keys, calendar addresses, certificates.
"""


@dataclass(frozen=True)
class _Everything:
    """All that is written, read in one transaction."""

    records: dict[str, list[Record]]
    measurements: list[dict[str, Any]]
    files: Sequence[tuple[str, Callable[[], Path], str, Record]]
    """Folder, where the file is, its hash, its record."""
    names: dict[str, str] = field(default_factory=dict)
    """Of each planting: its cultivar and planter as part of a file name."""


def everything(
    journal: Journal, day: str, version: str, refused: list[str], tell: Tell = lambda done, total: None
) -> Iterator[Member]:
    """The files of the export, one after the other; a file of the journal that is damaged is named in ``refused``."""
    read = _read(journal)
    sums: list[str] = []
    listed: list[tuple[Cell, ...]] = []

    def summed(members: Iterable[Member]) -> Iterator[Member]:
        for name, content in members:
            sums.append(f"{hashlib.sha256(content).hexdigest()}  {name}\n")
            yield name, content

    yield from summed(_files(read, listed, refused, tell))
    headings = ("file", "kind", "record_id", "sha256", "name_when_taken_in")
    yield from summed([("files.csv", csv_file(headings, listed))])
    yield from summed(_records(read))
    yield from summed([("measurements.json", _json([row["fields"] | {"id": row["id"]} for row in read.measurements]))])
    yield from summed((f"numbers/{name}", content) for name, content in numbers_package(load_numbers(journal)))
    yield from summed([("data_dictionary.csv", _dictionary()), ("settings.json", _json(journal.settings()))])
    yield from summed([("README.md", README.format(day=day, version=version).encode())])
    yield "SHA256SUMS", "".join(sums).encode()


def _read(journal: Journal) -> _Everything:
    with journal.database.reading() as session:
        records = {kind: load_records(session, kind, with_deleted=True) for kind in KINDS}
        measurements = all_measurements(session)
        rows = [
            *(
                ("photos", journal.files.original, row.sha256, row.suffix, row.photo_id)
                for row in all_photo_files(session)
            ),
            *(
                ("recordings", journal.recordings.file, row.sha256, row.suffix, row.recording_id)
                for row in all_recording_files(session)
            ),
        ]
    by_id = {record.id: record for kind in records.values() for record in kind}
    files = [
        (folder, partial(bring, sha256, suffix), sha256, by_id[record_id])
        for folder, bring, sha256, suffix, record_id in rows
    ]
    return _Everything(records, measurements, files, {p.id: _place(by_id, p) for p in records["planting"]})


def _place(by_id: dict[str, Record], planting: Record) -> str:
    cultivar, planter = by_id[planting.fields["cultivar_id"]].fields, by_id[planting.fields["planter_id"]].fields
    words = (file_slug(part, 30) for part in (f"{cultivar['genus']} {cultivar['name']}", planter["name"]))
    return "_".join(part for part in words if part)


def _files(read: _Everything, listed: list[tuple[Cell, ...]], refused: list[str], tell: Tell) -> Iterator[Member]:
    for done, (folder, bring, sha256, record) in enumerate(read.files):
        path = bring()
        content = _whole(path, sha256)
        if content is None:
            refused.append(f"{record.fields['file_name']} is missing or damaged, and left out: {path}")
        else:
            name = f"{folder}/{_readable(read, record, sha256)}{path.suffix}"
            listed.append((name, record.kind, record.id, sha256, record.fields["file_name"]))
            yield name, content
        tell(done + 1, len(read.files))


def _whole(path: Path, sha256: str) -> bytes | None:
    try:
        content = path.read_bytes()
    except OSError:
        return None
    return content if hashlib.sha256(content).hexdigest() == sha256 else None


def _readable(read: _Everything, record: Record, sha256: str) -> str:
    """When, what, where, and enough of the hash to be its own; letters and digits of ASCII only."""
    taken_at = str(record.fields.get("taken_at") or record.fields.get("recorded_at") or "")
    when = taken_at[:16].replace("T", "_").replace(":", "-") or "no-date"
    where = read.names.get(str(record.fields.get("planting_id"))) or "no-planting"
    return f"{when}_{where}_{sha256[:10]}"


def _records(read: _Everything) -> Iterator[Member]:
    for kind, records in read.records.items():
        yield f"records/{kind}.json", _json([record.as_dict() for record in records])
        fields = list(dict.fromkeys([*KINDS[kind], *(name for record in records for name in record.fields)]))
        rows = (
            (
                record.id,
                record.deleted,
                record.version,
                record.seq,
                *(_cell(record.fields.get(name)) for name in fields),
            )
            for record in records
        )
        yield f"records/{kind}.csv", csv_file([*OF_EVERY_RECORD, *fields], rows)


def _cell(value: Any) -> Cell:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, list | dict) else value


def _dictionary() -> bytes:
    rows: list[tuple[Cell, ...]] = [
        ("every kind", name, words, None, "journal") for name, words in OF_EVERY_RECORD.items()
    ]
    for kind, fields in KINDS.items():
        for name, one in fields.items():
            points_to = f"records/{one.refers_to}.json" if one.refers_to else None
            rows.append((kind, name, field_words(kind, name), points_to, "person" if one.editable else "journal"))
    return csv_file(("kind", "field", "holds", "points_to", "set_by"), rows)


def _json(given: Any) -> bytes:
    return (json.dumps(given, ensure_ascii=False, indent=1) + "\n").encode()
