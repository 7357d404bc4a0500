"""The call that takes the numbers out."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from journal_server.terminal import DONE, AddCall, opened_journal, write_file

if TYPE_CHECKING:
    from journal_server.services.numbers_out import Numbers


def add_numbers_calls(call: AddCall) -> None:
    numbers = call("numbers", _numbers, "The current measurement of every photo as a tidy table.")
    numbers.add_argument("--csv", type=Path, metavar="FILE", help="write there instead of to standard output")
    numbers.add_argument("--json", type=Path, metavar="FILE", help="the same as JSON, with what each column means")
    numbers.add_argument(
        "--package",
        type=Path,
        metavar="FOLDER",
        help="photos and seasons as CSV with a data dictionary (a Frictionless data package); a name that ends in .zip "
        "makes one file",
    )
    numbers.add_argument("--trial", metavar="TITLE-OR-ID", help="of one trial; default: of all")


def _numbers(given: argparse.Namespace) -> int:
    from journal_server.services.leaving.plants_of_trials import trial_named
    from journal_server.services.numbers_out import csv_text_of_photos, json_text, load_numbers

    with opened_journal(given) as journal:
        numbers = load_numbers(journal, trial_named(journal, given.trial) if given.trial else None)
    written = []
    if given.csv:
        written.append(_written(given.csv, csv_text_of_photos(numbers)))
    if given.json:
        written.append(_written(given.json, json_text(numbers)))
    if given.package:
        written.append(_write_package(numbers, given.package))
    if not written:
        sys.stdout.write(csv_text_of_photos(numbers))
    for path in written:
        print(f"Written to {path}")
    return DONE


def _written(path: Path, text: str) -> Path:
    write_file(path, text.encode("utf-8"))
    return path


def _write_package(numbers: Numbers, to: Path) -> Path:
    from journal_server.services.leaving.folder import write_into
    from journal_server.services.leaving.zip_stream import zipped
    from journal_server.services.numbers_out import numbers_package

    members = numbers_package(numbers)
    if to.suffix.lower() == ".zip":
        write_file(to, b"".join(zipped(members)))
    else:
        write_into(to, members)
    return to
