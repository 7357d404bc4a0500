"""The numbers taken out of the journal: one table of photos, one of seasons, as CSV, JSON and a data package."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from journal_server.analysis.numbers import DATA_DICTIONARY, Cell, Column, number_rows
from journal_server.analysis.season_table import SEASON_DICTIONARY, season_row
from journal_server.analysis.series import SHARES
from journal_server.services.csv_file import csv_text
from journal_server.services.data_package import Table, package_files
from journal_server.services.journal import Journal
from journal_server.services.quotable import load_quotable
from journal_server.services.quotes import methods_of
from journal_server.services.season import (
    StoredSeason,
    estimate_of,
    load_seasons,
    measurements_that_count,
    method_of,
    photo_facts,
)
from journal_server.storage.records import load_records

PHOTOS, SEASONS = "numbers", "seasons"
Row = dict[str, Cell]


@dataclass(frozen=True)
class Numbers:
    """Both tables, of one trial or of the whole journal."""

    photos: list[Row]
    seasons: list[Row]
    of: str


def load_numbers(journal: Journal, trial_id: str | None = None) -> Numbers:
    """The current measurement of every photo, and the season of every planting.

    Of the whole journal the photos that belong to no planting yet are in the table too.
    """
    stored = load_seasons(journal, trial_id)
    photos = [row for one in stored for row in number_rows(one.season, one.photos)]
    if trial_id is None:
        photos += _rows_without_planting(journal)
    titles = _trial_titles(journal)
    return Numbers(photos, _season_rows(journal, stored, titles), titles[trial_id] if trial_id else "all trials")


def csv_text_of_photos(numbers: Numbers) -> str:
    """The table of photos as CSV."""
    return _csv(DATA_DICTIONARY, numbers.photos)


def numbers_json(numbers: Numbers) -> dict[str, Any]:
    """Both tables with the meaning of every column; texts stand as they are, since nothing runs JSON as a formula."""
    described = {table.name: table.schema for table in tables_of(numbers)}
    return {
        "fields": described[PHOTOS]["fields"],
        "rows": numbers.photos,
        "seasons": {"fields": described[SEASONS]["fields"], "rows": numbers.seasons},
    }


def json_text(numbers: Numbers) -> str:
    return json.dumps(numbers_json(numbers), ensure_ascii=False, indent=1) + "\n"


def numbers_package(numbers: Numbers) -> Iterator[tuple[str, bytes]]:
    """The files of a data package: both tables as CSV, ``datapackage.json``, and the dictionary to read."""
    return package_files(f"Measured numbers of {numbers.of}", tables_of(numbers))


def tables_of(numbers: Numbers) -> tuple[Table, Table]:
    photos = Table(
        PHOTOS,
        "One row a photo: its current measurement",
        DATA_DICTIONARY,
        _csv(DATA_DICTIONARY, numbers.photos),
        key="sha256",
        points_to={"planting": SEASONS},
    )
    seasons = Table(
        SEASONS,
        "One row a planting: its season in numbers, each with its interval or the reason why it is not known",
        SEASON_DICTIONARY,
        _csv(SEASON_DICTIONARY, numbers.seasons),
        key="planting",
    )
    return photos, seasons


def _csv(columns: Sequence[Column], rows: Sequence[Row]) -> str:
    names = [column.name for column in columns]
    return csv_text(names, ([row[name] for name in names] for row in rows))


def _trial_titles(journal: Journal) -> dict[str, str]:
    with journal.database.reading() as session:
        return {trial.id: trial.fields["title"] for trial in load_records(session, "trial")}


def _season_rows(journal: Journal, stored: Sequence[StoredSeason], titles: Mapping[str, str]) -> list[Row]:
    numbers = load_quotable(journal, stored)
    return [
        season_row(
            one.season,
            numbers[one.planting.id],
            trial=titles.get(one.planting.fields["trial_id"], ""),
            methods=methods_of(one.photos.values()),
        )
        for one in stored
    ]


def _rows_without_planting(journal: Journal) -> list[Row]:
    with journal.database.reading() as session:
        unplaced = [p for p in load_records(session, "photo") if not p.fields["planting_id"]]
        measured = measurements_that_count(session, unplaced)
        loose = [p for p in unplaced if p.id in measured]
    rows: list[Row] = []
    for photo in sorted(loose, key=lambda p: (p.fields["taken_at"] or "", p.fields["file_name"])):
        row: Row = dict.fromkeys((column.name for column in DATA_DICTIONARY), None)
        facts = photo_facts(photo, method_of(measured[photo.id]["fields"]))
        row |= {"photo": facts.file_name, "sha256": facts.sha256, "taken_at": facts.taken_at or None}
        row |= _share_cells(measured[photo.id]["fields"]["numbers"]) | {"method": facts.method}
        rows.append(row)
    return rows


def _share_cells(numbers: dict[str, Any]) -> Row:
    cells: Row = {}
    for name in SHARES:
        estimate = estimate_of(numbers.get(name))
        if estimate:
            cells |= {name: estimate.value, f"{name}_low": estimate.low, f"{name}_high": estimate.high}
    colour = numbers.get("bloom_colour")
    return cells | {
        "bloom_hex": colour["hex"] if colour else None,
        "white_reference": numbers.get("white_reference"),
    }
