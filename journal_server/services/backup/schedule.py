"""The scheduled backup, made beside the serving: when it is due, and what Today and Set-up say of it."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from journal_server.errors import InputRefused, JournalError
from journal_server.services.backup.folder import back_up_to_folder, kept_in, manifest_of
from journal_server.services.backup.state import BackupState, note_failure, state_now
from journal_server.services.journal import Journal

LOOKS_EVERY_S = 60.0
AGAIN_AFTER_S = 3600.0
"""After a failure: often enough for a disk that is connected again, seldom enough not to be in the way."""
LISTED = 20

log = logging.getLogger(__name__)


class _Ended(Exception):
    """The journal closes while a backup is being made; the next start makes it."""


def is_due(state: BackupState, folder: str, every_days: int, now: datetime) -> bool:
    """Whether the folder's last good backup is that old, or is said to be of a day to come (the clock was set back)."""
    if state.folder != folder or state.folder_made_at is None:
        return True
    made_at = datetime.fromisoformat(state.folder_made_at)
    return not timedelta(days=-1) < now - made_at < timedelta(days=every_days)


class BackupKeeper:
    """Makes the scheduled backups in a thread of its own, one at a time, until told to stop."""

    def __init__(self, journal: Journal, clock: Callable[[], datetime] = lambda: datetime.now(UTC)):
        self.journal = journal
        self._clock = clock
        self._wake = threading.Event()
        self._stopping = False
        self._asked = False
        self._progress: tuple[int, int] | None = None
        self._not_before_s = 0.0
        self._thread = threading.Thread(target=self._run, name="backup keeper", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        self._stopping = True
        self._wake.set()
        if self._thread.is_alive():
            self._thread.join(timeout=30)

    def ask(self) -> None:
        """Make a backup now, whatever the schedule says."""
        if not self.journal.setting("backup_folder"):
            raise InputRefused("Choose a folder for the backups first.", "backup_folder")
        self._asked = True
        self._wake.set()

    def progress(self) -> tuple[int, int] | None:
        """While a backup is being made or about to be: how many files of how many are done."""
        return self._progress or ((0, 0) if self._asked else None)

    def _run(self) -> None:
        while not self._stopping:
            try:
                self.look()
            except Exception:  # the keeper must outlive a database that does not answer for a while
                log.exception("looking after the backups failed")
            if not self._asked:
                self._wake.wait(timeout=LOOKS_EVERY_S)
            self._wake.clear()

    def look(self) -> None:
        """Make a backup where one is due or was asked for; a failure is kept until one succeeds."""
        settings = self.journal.settings()
        folder = settings["backup_folder"]
        asked, self._asked = self._asked, False
        if not folder or not (asked or self._is_time(folder, settings["backup_every_days"])):
            return
        self._progress = (0, 0)
        try:
            back_up_to_folder(self.journal, Path(folder), settings["backup_keep"], self._tell)
        except _Ended:
            return
        except JournalError as error:
            self._failed(str(error))
        except Exception as error:
            log.exception("a scheduled backup failed")
            self._failed(f"The backup failed ({type(error).__name__}: {error}).")
        finally:
            self._progress = None

    def _is_time(self, folder: str, every_days: int) -> bool:
        state = state_now(self.journal)
        return time.monotonic() >= self._not_before_s and is_due(state, folder, every_days, self._clock())

    def _failed(self, says: str) -> None:
        self._not_before_s = time.monotonic() + AGAIN_AFTER_S
        note_failure(self.journal, says, self._clock())

    def _tell(self, done: int, total: int) -> None:
        if self._stopping:
            raise _Ended
        self._progress = (done, total)


def describe_backups(journal: Journal, keeper: BackupKeeper | None) -> dict[str, Any]:
    """What the screen about backups shows."""
    settings = journal.settings()
    folder = settings["backup_folder"]
    progress = keeper.progress() if keeper else None
    kept, problem = _kept(folder)
    return {
        "state": describe_state(journal),
        "making": {"done": progress[0], "total": progress[1]} if progress else None,
        "can_make": keeper is not None,
        "folder": folder,
        "every_days": settings["backup_every_days"],
        "keep": settings["backup_keep"],
        "kept": kept,
        "problem": problem,
    }


def describe_state(journal: Journal) -> dict[str, Any]:
    state = state_now(journal)
    return {
        "last_good": state.made_at,
        "failure": {"says": state.failure, "at": state.failed_at} if state.failure else None,
        "scheduled": bool(journal.setting("backup_folder")),
    }


def _kept(folder: str) -> tuple[list[dict[str, Any]], str | None]:
    if not folder:
        return [], None
    try:
        newest = kept_in(Path(folder))[: -LISTED - 1 : -1]
        manifests = [(manifest_of(one), one.manifest_file.name) for one in newest]
    except (OSError, ValueError) as error:
        return [], f"The folder cannot be read ({error})."
    return [{"made_at": made.made_at, "photos": made.photos, "manifest": name} for made, name in manifests], None
