"""The calls that keep a journal safe: check, backup, restore."""

from __future__ import annotations

import argparse
import getpass
import json
import sys
from datetime import UTC, datetime
from pathlib import Path

from journal_server.errors import InputRefused
from journal_server.services.journal import default_folder
from journal_server.terminal import DONE, SOME_REFUSED, AddCall, opened_journal, progress


def add_keeping_calls(call: AddCall) -> None:
    check = call("check", _check, "Look the whole journal over, and say what is wrong and how to mend it.")
    check.add_argument("--quick", action="store_true", help="do not read every photo: look at its size only")
    check.add_argument("--json", action="store_true", help="one JSON object instead of sentences")
    backup = call("backup", _backup, "Write one archive with everything, or add to a folder of backups.")
    backup.add_argument("archive", type=Path, metavar="FILE-OR-FOLDER")
    backup.add_argument("--folder", action="store_true", help="add what is new to a folder instead of a whole archive")
    backup.add_argument("--keep", type=int, default=12, metavar="N", help="backups to keep in the folder; default: 12")
    backup.add_argument("--encrypt", action="store_true", help="seal the archive with a passphrase")
    restore = call("restore", _restore, "Verify a backup and restore it into a new folder.", data=False)
    restore.add_argument("archive", type=Path, metavar="FILE-OR-FOLDER")
    restore.add_argument("--data", type=Path, metavar="DIR", help="the new folder")
    restore.add_argument("--only-verify", action="store_true", help="read and compare all of it, write nothing")
    for sealed in (backup, restore):
        sealed.add_argument(
            "--passphrase-file", type=Path, metavar="FILE", help="read the passphrase from its first line"
        )


def _check(given: argparse.Namespace) -> int:
    """0: nothing wrong; 1: something is; 2: it could not be looked at."""
    from journal_server.services.check.run import check_journal

    folder = given.data or default_folder()
    report = check_journal(
        folder, datetime.now(UTC), url=given.database, hashing=not given.quick, tell=progress("Reading the photos")
    )
    if given.json:
        print(json.dumps(report.as_dict(), indent=1))
        return SOME_REFUSED if report.wrong else DONE
    for finding in report.findings:
        print(f"{'WRONG' if finding.grade == 'wrong' else 'Note'} ({finding.part}): {finding.what}\n    {finding.mend}")
    how = "read and compared by hash" if report.hashed else "looked at by size (without --quick every one is read)"
    print(f"{folder}: {report.records} records; {report.files} photos and recordings, {how}.")
    print(
        f"{report.wrong} wrong, {len(report.findings) - report.wrong} to note." if report.findings else "All is well."
    )
    return SOME_REFUSED if report.wrong else DONE


def _backup(given: argparse.Namespace) -> int:
    from journal_server.services.backup import back_up_to_folder, make_backup

    if given.folder and (given.encrypt or given.passphrase_file):
        raise InputRefused("A folder of backups is not sealed; for that write an archive, without --folder.")
    if given.archive.is_dir() and not given.folder:
        raise InputRefused(
            f"{given.archive} is a folder. Name a file in it for one archive, or say --folder for a folder of backups "
            "that grows by what is new. Nothing was backed up."
        )
    if given.keep < 1:
        raise InputRefused("At least one backup is kept; --keep begins at 1.")
    passphrase = _new_passphrase(given) if given.encrypt or given.passphrase_file else None
    with opened_journal(given) as journal:
        if given.folder:
            made = back_up_to_folder(journal, given.archive.absolute(), given.keep, progress("Backing up"))
        else:
            made = make_backup(journal, given.archive, passphrase, progress("Backing up"))
    print(f"Everything, with {made.photos} photos, is in {given.archive}")
    if passphrase:
        print("It is sealed. Without the passphrase nobody can open it, you neither: keep it where you will find it.")
    return DONE


def _restore(given: argparse.Namespace) -> int:
    from journal_server.services.backup import restore_backup, verify_backup

    passphrase = _passphrase(given)
    if given.only_verify:
        photos = verify_backup(given.archive, passphrase, progress("Verifying"))
        print(f"The backup is whole: every one of its {photos} photos and its database are as they were backed up.")
        return DONE
    if given.data is None:
        raise InputRefused("Say into which new folder, with --data DIR.")
    back = restore_backup(given.archive, given.data, passphrase, progress("Restoring"))
    rows = back.contents
    print(
        f"Restored into {given.data}, as of {back.made_at}: {back.photos} photos, {back.recordings} recordings, "
        f"{rows['records']} records, {rows['measurements']} measurements.\n"
        "Every file was read again and has the hash it was backed up with; records and numbers are the same.\n"
        "The pictures over which the classes are drawn are made again when the journal is served."
    )
    return DONE


def _passphrase(given: argparse.Namespace) -> str | None:
    from journal_server.storage.sealed import is_sealed

    if given.passphrase_file:
        return _from_file(given.passphrase_file)
    if given.archive.is_file() and is_sealed(given.archive) and sys.stdin.isatty():
        return getpass.getpass("Passphrase of the archive: ")
    return None


def _new_passphrase(given: argparse.Namespace) -> str:
    if given.passphrase_file:
        return _from_file(given.passphrase_file)
    if not sys.stdin.isatty():
        raise InputRefused("There is no terminal to ask for the passphrase; give it with --passphrase-file FILE.")
    first = getpass.getpass("Passphrase for the archive: ")
    if first != getpass.getpass("The same again: "):
        raise InputRefused("The two differ. Nothing was backed up.")
    return first


def _from_file(file: Path) -> str:
    """Its first line. A passphrase never stands on the command line, where others on the computer could read it."""
    try:
        with file.open(encoding="utf-8") as lines:
            return lines.readline().rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no text"
        raise InputRefused(f"The passphrase cannot be read from {file} ({why}).") from error
