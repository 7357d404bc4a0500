"""One server a data folder: a lock that the system itself lets go of when its process ends, however it ends."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from journal_server.errors import JournalBusy
from journal_server.storage.database import Database

LOCK_FILE = "serving.lock"


@contextmanager
def serving_alone(folder: Path) -> Iterator[None]:
    """Hold the folder for serving. Raises JournalBusy where another process does, or where it cannot be told."""
    lock = FileLock(folder / LOCK_FILE)
    try:
        lock.acquire(blocking=False)
    except Timeout:
        raise JournalBusy(
            f"The journal in {folder} is being served already, perhaps in another window. Nothing was started: open it "
            "in the browser at the address that window shows, or end that one first."
        ) from None
    except (OSError, NotImplementedError) as error:  # the latter is the library's word for a disk without locks
        raise JournalBusy(
            f"The data folder {folder} cannot be locked ({error}). Keep the journal in a folder that can be written, "
            "on a disk of this computer."
        ) from error
    try:
        yield
    finally:
        lock.release()


def is_served(folder: Path) -> bool:
    """Whether a process serves the folder now; where no lock can be made there is none that serves."""
    try:
        FileLock(folder / LOCK_FILE).acquire(blocking=False).lock.release()
    except Timeout:
        return True
    except (OSError, NotImplementedError):
        return False
    return False


@contextmanager
def log_kept(database: Database) -> Iterator[None]:
    """While one connection to SQLite is open its log stays, so that reading needs no room on a full disk."""
    with closing(database.engine.raw_connection()) as connection:
        connection.cursor().execute("SELECT count(*) FROM sqlite_master").fetchone()
        yield
