"""What a process that serves a journal does first: hold the folder alone, and clear away what was broken off."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

from journal_server.services.journal import Journal
from journal_server.storage.folder_lock import log_kept, serving_alone
from journal_server.storage.photo_files import remove_leftovers


@contextmanager
def alone_with(journal: Journal) -> Iterator[None]:
    """Refuses a second server on the same SQLite journal; a database server minds its callers itself."""
    if not journal.database.url.startswith("sqlite"):
        yield
        return
    with serving_alone(journal.folder):
        remove_leftovers(journal.folder, time.time())
        with log_kept(journal.database):
            yield
