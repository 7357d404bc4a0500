"""When the journal was last backed up, and why the latest try failed: kept beside the database, not in a backup."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from journal_server.errors import JournalBusy
from journal_server.services.journal import Journal
from journal_server.storage.photo_files import write_durably

FILE = "last_backup.json"


@dataclass(frozen=True)
class BackupState:
    """Moments are ISO 8601 in UTC: ``made_at`` of the last good backup, ``folder_made_at`` of that into ``folder``."""

    made_at: str | None = None
    folder: str | None = None
    folder_made_at: str | None = None
    failure: str | None = None
    failed_at: str | None = None


def backup_state(folder: Path) -> BackupState:
    """As kept in the journal's folder; what cannot be read counts as never backed up."""
    try:
        kept: Any = json.loads((folder / FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return BackupState()
    known = BackupState.__dataclass_fields__
    given = kept if isinstance(kept, dict) else {}
    return BackupState(**{name: given[name] for name in known if isinstance(given.get(name), str)})


def state_now(journal: Journal) -> BackupState:
    """As kept, with a failure that could not even be written down."""
    return replace(backup_state(journal.folder), **journal.backup_failure)


def note_good(journal: Journal, made_at: datetime, into: Path | None = None) -> None:
    """A backup was made; one into the folder also ends the failure of that."""
    moment = made_at.isoformat(timespec="seconds")
    state = replace(backup_state(journal.folder), made_at=moment)
    if into is not None:
        state = BackupState(moment, str(into), moment)
        journal.backup_failure = {}
    _write(journal, state)


def note_failure(journal: Journal, says: str, now: datetime) -> None:
    """A scheduled backup failed: said until one succeeds, also where the disk takes nothing any more."""
    journal.backup_failure = {"failure": says, "failed_at": now.isoformat(timespec="seconds")}
    try:
        _write(journal, state_now(journal))
    except JournalBusy:
        return  # it stays in memory


def _write(journal: Journal, state: BackupState) -> None:
    kept = {name: value for name, value in asdict(state).items() if value is not None}
    write_durably(journal.folder / FILE, json.dumps(kept).encode())
