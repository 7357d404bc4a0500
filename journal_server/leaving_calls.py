"""The call that takes trials out for other programs."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from journal_server import __version__
from journal_server.errors import InputRefused
from journal_server.services.journal import Journal
from journal_server.terminal import DONE, SOME_REFUSED, AddCall, complain, opened_journal, progress

if TYPE_CHECKING:
    from journal_server.services.leaving.photos import PhotoChoice

EVERYTHING, MIAPPE, PHOTOS = "everything", "miappe", "photos"
OF_A_CHOICE = ("trial", "planting", "first_day", "last_day", "with_place", "with_owner")
"""Options that say what goes along; with everything, everything does."""


def add_leaving_calls(call: AddCall) -> None:
    export = call("export", _export, "Take everything out in open forms, or trials for other programs, into a folder.")
    export.add_argument("folder", type=Path, metavar="FOLDER")
    export.add_argument(
        "--only",
        choices=(EVERYTHING, MIAPPE, PHOTOS),
        default=EVERYTHING,
        help="everything (the default): all files and records of the journal; miappe: tables in the terms of that "
        "check-list; photos: JPEG with what they show written into them",
    )
    export.add_argument("--trial", metavar="TITLE-OR-ID", help="of one trial; default: of all")
    export.add_argument("--planting", action="append", default=[], metavar="ID", help="photos of this planting only")
    export.add_argument("--from", dest="first_day", metavar="DAY", help="photos from this day on, like 2026-05-16")
    export.add_argument("--until", dest="last_day", metavar="DAY", help="photos up to this day")
    export.add_argument("--with-place", action="store_true", help="let the site and the photos' GPS go along")
    export.add_argument(
        "--with-owner", action="store_true", help="let artist, copyright, camera owner and serial numbers go along"
    )


def _export(given: argparse.Namespace) -> int:
    refused: list[str] = []
    if given.only == EVERYTHING and any(getattr(given, option) for option in OF_A_CHOICE):
        raise InputRefused(f"Everything goes along by itself; choose with --only {MIAPPE} or --only {PHOTOS}.")
    with opened_journal(given) as journal:
        if given.only == EVERYTHING:
            return _export_everything(journal, given.folder)
        choice = _photo_choice(journal, given)
        if given.only == MIAPPE:
            _write_miappe(journal, choice, given.folder / MIAPPE)
        if given.only == PHOTOS:
            _write_photos(journal, choice, given.folder / PHOTOS, refused)
    for sentence in refused:
        complain(sentence)
    return SOME_REFUSED if refused else DONE


def _export_everything(journal: Journal, folder: Path) -> int:
    from journal_server.services.leaving.everything import everything
    from journal_server.services.leaving.folder import write_into

    refused: list[str] = []
    members = everything(journal, journal.today().isoformat(), __version__, refused, progress("Writing files"))
    written = write_into(folder, members)
    for sentence in refused:
        complain(sentence)
    print(f"Everything is in {folder}, {written} files; README.md there says what is what.")
    if not refused:
        return DONE
    print(f"{len(refused)} files were left out. “journal-server check” says how to mend them.")
    return SOME_REFUSED


def _write_miappe(journal: Journal, choice: PhotoChoice, folder: Path) -> None:
    from journal_server.services.leaving.folder import write_into
    from journal_server.services.leaving.miappe.export import miappe_files

    written = write_into(folder, miappe_files(journal, choice.trial_id, with_place=choice.with_place))
    print(f"{written} files are in {folder}; README.md there says of each field what it is.")


def _write_photos(journal: Journal, choice: PhotoChoice, folder: Path, refused: list[str]) -> None:
    from journal_server.services.leaving.folder import write_into
    from journal_server.services.leaving.photos import choose_photos, exported_photos

    photos = choose_photos(journal, choice)
    tell = progress("Writing photos")
    written = write_into(folder, exported_photos(photos, choice, refused=refused, tell=tell))
    print(f"{written - 1} photos are in {folder}; photos.csv there says of each what it is.")


def _photo_choice(journal: Journal, given: argparse.Namespace) -> PhotoChoice:
    from journal_server.domain.field_checks import day
    from journal_server.services.leaving.photos import PhotoChoice
    from journal_server.services.leaving.plants_of_trials import trial_named

    days = [day()(words) for words in (given.first_day, given.last_day)]
    first, last = (date.fromisoformat(found) if found else None for found in days)
    trial_id = trial_named(journal, given.trial) if given.trial else None
    return PhotoChoice(trial_id, tuple(given.planting), first, last, given.with_place, given.with_owner)
