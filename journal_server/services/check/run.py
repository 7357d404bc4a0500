"""The whole check, in order: what later parts rest on comes first."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from journal_server.errors import InputRefused, JournalDamaged
from journal_server.services.backup import backup_state
from journal_server.services.check.database import (
    RESTORE,
    check_numbering,
    check_schema,
    check_settings,
    check_soundness,
    check_tables,
)
from journal_server.services.check.files import Expected, check_files, expected_files
from journal_server.services.check.findings import NOTE, WRONG, Finding
from journal_server.services.check.records import check_records
from journal_server.services.check.surroundings import (
    check_backup,
    check_certificates,
    check_clock,
    check_folder,
    check_libraries,
)
from journal_server.services.journal import DATABASE_FILE, PHOTOS_KEPT_AT
from journal_server.storage.inspection import looking_at, measurements_seen, settings_seen

READ_THERE = "Have the store check them (each is named by its SHA-256), or run export, which reads every one."
Tell = Callable[[int, int], None]


@dataclass
class CheckReport:
    """What was looked at, and what was found."""

    records: int = 0
    files: int = 0
    hashed: bool = True
    elsewhere: str | None = None
    findings: list[Finding] = field(default_factory=list)

    @property
    def wrong(self) -> int:
        return sum(finding.grade == WRONG for finding in self.findings)

    def as_dict(self) -> dict[str, Any]:
        counts = {"records": self.records, "files": self.files, "hashed": self.hashed, "wrong": self.wrong}
        return counts | {"findings": [finding.as_dict() for finding in self.findings]}


def check_journal(
    folder: Path,
    now: datetime,
    *,
    url: str | None = None,
    hashing: bool = True,
    tell: Tell = lambda done, total: None,
) -> CheckReport:
    """Look the journal over without changing it, also while it is served.

    Raises InputRefused where the folder holds no journal.
    """
    file = folder / DATABASE_FILE
    if not folder.is_dir() or (url is None and not file.is_file()):
        raise InputRefused(f"There is no journal in {folder}.", "data")
    report = CheckReport(hashed=hashing)
    try:
        with looking_at(file, url) as connection:
            expected = _check_contents(connection, folder, report, now)
        # Outside of the transaction: hashing years of photos takes long, and the database's log would grow meanwhile.
        if report.elsewhere:
            report.findings.append(
                Finding(NOTE, "photos", f"The photos are kept in {report.elsewhere} and were not read.", READ_THERE)
            )
        elif expected is not None:
            report.findings += check_files(folder, expected, now.timestamp(), hashing=hashing, tell=tell)
    except (JournalDamaged, DBAPIError, ValueError) as error:
        # Where rows cannot be read, what was found until there is said all the same.
        report.findings.append(Finding(WRONG, "database", f"The database cannot be read through: {error}", RESTORE))
    state = backup_state(folder)
    report.findings += [
        *check_folder(folder),
        *check_certificates(folder / "certificates", now),
        *check_libraries(),
        *check_backup(state.made_at, state.failure, now),
    ]
    return report


def _check_contents(connection: Connection, folder: Path, report: CheckReport, now: datetime) -> list[Expected] | None:
    """Look the database over; returns the files that it names, or None where it cannot be read."""
    report.findings += check_soundness(connection)
    readable, found = check_schema(connection)
    report.findings += found
    if not readable:
        return None
    report.findings += check_tables(connection)
    report.elsewhere = json.loads(settings_seen(connection).get(PHOTOS_KEPT_AT, "null"))
    report.findings += [*check_numbering(connection), *check_settings(connection)]
    records, found = check_records(connection)
    expected, of_files = expected_files(connection, folder, records)
    report.records, report.files = len(records), len(expected)
    report.findings += [*found, *of_files, *check_clock(records.values(), measurements_seen(connection), now)]
    return expected
