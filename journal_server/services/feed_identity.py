"""Which journal this is, and which count of sequence numbers: what a phone needs to notice that either has changed."""

from __future__ import annotations

import hashlib
import json
import secrets
from pathlib import Path

from journal_server.services.journal import Journal
from journal_server.storage.database import which_database
from journal_server.storage.photo_files import write_durably
from journal_server.storage.records import load_settings, save_setting

JOURNAL = "journal_id"
"""Kept in the database, so that it is backed up and restored with the journal."""
FEED_FILE = "feed_id"
"""Kept beside the database and not backed up: a restored journal counts on from an earlier number: another feed.

A database server serves several folders and is restored without any: there the feed follows from the database itself.
"""


def feed_identity(journal: Journal) -> dict[str, str]:
    """``{"journal", "feed"}``, made when first asked for."""
    with journal.database.reading() as session:
        name = load_settings(session).get(JOURNAL)
        on_server = None if journal.database.on_sqlite else which_database(session)
    if name is not None and on_server is not None:
        return {"journal": json.loads(name), "feed": _feed_of(name, on_server)}
    feed = _read(journal.folder / FEED_FILE)
    if name is None or feed is None:
        return _make(journal)
    return {"journal": json.loads(name), "feed": feed}


def _make(journal: Journal) -> dict[str, str]:
    """Under the lock for writing, so that two who ask at once are told the same."""
    with journal.database.writing() as session:
        stored = load_settings(session).get(JOURNAL)
        name: str = json.loads(stored) if stored else secrets.token_hex(16)
        if stored is None:
            save_setting(session, JOURNAL, json.dumps(name))
        if not journal.database.on_sqlite:
            return {"journal": name, "feed": _feed_of(json.dumps(name), which_database(session))}
        feed = _read(journal.folder / FEED_FILE)
        if feed is None:
            feed = secrets.token_hex(16)
            write_durably(journal.folder / FEED_FILE, feed.encode("ascii"))
        return {"journal": name, "feed": feed}


def _feed_of(name: str, database: str) -> str:
    return hashlib.sha256(f"{name} {database}".encode()).hexdigest()[:32]


def _read(file: Path) -> str | None:
    try:
        return file.read_text(encoding="ascii").strip() or None
    except FileNotFoundError:
        return None
