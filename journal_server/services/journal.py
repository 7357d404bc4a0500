"""A journal: its folder, its database, its files and its settings, opened once and handed to every use case."""

from __future__ import annotations

import contextlib
import json
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from platformdirs import user_data_path

from journal_server.errors import InputRefused, JournalBusy
from journal_server.services.kept import Kept
from journal_server.services.per_minute import PerMinute
from journal_server.settings import SETTINGS
from journal_server.storage.database import Database
from journal_server.storage.elsewhere import FileStore, PhotosElsewhere, RecordingsElsewhere
from journal_server.storage.folder_lock import is_served
from journal_server.storage.photo_files import PhotoFiles
from journal_server.storage.recordings import RecordingFiles
from journal_server.storage.records import load_settings, save_setting

DATABASE_FILE = "journal.sqlite3"
PHOTOS_KEPT_AT = "photos_kept_at"
"""In the database: which store keeps the photos, so that none is ever looked for or kept anywhere else."""
OWNER_ALONE = 0o700
"""The mode of a new folder: originals say where the garden is."""
KEPT_SEASONS = 4000
"""Seasons of plantings kept in memory, about 20 kB each."""
KEPT_FIGURES = 20
KEPT_READINGS = 8000
MOST_UPLOADS = 600
"""Of files in a minute from one device, several times what a phone sends."""
MOST_WRONG_KEYS = 20
"""Of addresses that carry a key, in a minute from one network address."""
KEPT_ROWS = 4000
"""Rows of timelines as drawn, about 5 kB each."""


def default_folder() -> Path:
    return user_data_path("planting-trial-journal", appauthor=False)


class Journal:
    def __init__(self, folder: Path, database: Database, store: FileStore | None = None):
        self.folder = folder
        self.database = database
        self.files = PhotosElsewhere(folder, store) if store else PhotoFiles(folder)
        self.recordings = RecordingsElsewhere(folder, store) if store else RecordingFiles(folder)
        self.kept_seasons = Kept(most=KEPT_SEASONS)
        self.kept_quotable = Kept(most=KEPT_SEASONS)
        self.kept_figures = Kept(most=KEPT_FIGURES)
        self.kept_rows = Kept(most=KEPT_ROWS)
        self.kept_readings = Kept(most=KEPT_READINGS)
        self.wrong_keys = PerMinute(MOST_WRONG_KEYS)
        self.uploads = PerMinute(MOST_UPLOADS)
        self.backup_failure: dict[str, str] = {}
        """The last failure of a scheduled backup, for where it cannot be written down."""

    def close(self) -> None:
        self.database.close()

    def setting(self, name: str) -> Any:
        return self.settings()[name]

    def today(self) -> date:
        """The day that it is in the garden."""
        return datetime.now(ZoneInfo(self.setting("time_zone"))).date()

    def settings(self) -> dict[str, Any]:
        """Every setting, the stored value or the default."""
        with self.database.reading() as session:
            stored = load_settings(session)
        return {
            name: json.loads(stored[name]) if name in stored else setting.default()
            for name, setting in SETTINGS.items()
        }

    def change_settings(self, given: dict[str, Any]) -> None:
        """Set the given settings, all or none; the first wrong one is refused with its name."""
        checked: dict[str, Any] = {}
        for name, value in given.items():
            if name not in SETTINGS:
                raise InputRefused(f"There is no setting {name!r}.", name)
            try:
                checked[name] = SETTINGS[name].check(value)
            except InputRefused as error:
                raise InputRefused(str(error), name) from None
        with self.database.writing() as session:
            for name, value in checked.items():
                save_setting(session, name, json.dumps(value))


def open_journal(folder: Path, database_url: str | None = None, photos_url: str | None = None) -> Journal:
    """Open (or begin) the journal in a folder and bring its database up to date."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=OWNER_ALONE)
        with contextlib.ExitStack() as if_refused:
            database = Database(database_url or f"sqlite:///{folder / DATABASE_FILE}")
            if_refused.callback(database.close)
            _refuse_under_a_server(database, folder)
            database.upgrade()
            journal = Journal(folder, database, _store_of(database, folder, photos_url))
            if_refused.pop_all()
        return journal
    except OSError as error:
        raise JournalBusy(f"The data folder {folder} cannot be made or used ({error.strerror}).") from error


def _refuse_under_a_server(database: Database, folder: Path) -> None:
    """The tables do not change under a server of an earlier version, which would go on writing as it knows them."""
    if database.on_sqlite and (folder / DATABASE_FILE).exists() and database.is_earlier() and is_served(folder):
        raise JournalBusy(
            f"The journal in {folder} is being served by an earlier version of the program, and this one would change "
            "its tables. Nothing was changed: end the server, start it again as the new version, then try again."
        )


def _store_of(database: Database, folder: Path, url: str | None) -> FileStore | None:
    """The store that keeps the photos. What the folder holds already is put there before it counts as kept there."""
    with database.reading() as session:
        stored = load_settings(session).get(PHOTOS_KEPT_AT)
    known = json.loads(stored) if stored else None
    if known is not None and known != url:
        raise InputRefused(f"The photos of this journal are kept in {known}. Say so with --photos {known}.", "photos")
    if url is None:
        return None
    store = FileStore(url, folder)
    if known is None:
        for path in [*PhotoFiles(folder).all_originals(), *RecordingFiles(folder).all_files()]:
            store.keep(path, path.read_bytes())
        with database.writing() as session:
            save_setting(session, PHOTOS_KEPT_AT, json.dumps(url))
    return store
