"""Opening the database, one transaction at a time, and bringing an older one up to date."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import Connection
from sqlalchemy.exc import ArgumentError, DBAPIError, OperationalError
from sqlalchemy.orm import Session
from sqlalchemy.pool import NullPool

from journal_server.errors import InputRefused, JournalBusy, JournalDamaged, JournalNewer


class Database:
    """``reading()`` and ``writing()`` give a session in one transaction; a writing one commits at its end, whole."""

    def __init__(self, url: str, busy_wait_s: float = 30.0):
        self.url = url
        try:
            self.engine = _engine(url, busy_wait_s)
        except (ArgumentError, ImportError) as error:
            raise InputRefused(
                "The database URL cannot be used: it is malformed, or the driver it names is not installed.", "database"
            ) from error

    @contextmanager
    def reading(self) -> Iterator[Session]:
        with plain_database_errors(), Session(self.engine, expire_on_commit=False) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        bind = self.engine.execution_options(writing=True)
        with plain_database_errors(), Session(bind, expire_on_commit=False) as session, session.begin():
            session.connection()  # begins here and now: what is read for the decision stays true until it is written
            yield session

    def upgrade(self, to: str = "head") -> None:
        """Run all migrations that this database has not seen, up to the given one."""
        with plain_database_errors(), self.engine.execution_options(writing=True).connect() as connection:
            config = _migrations()
            _refuse_newer(connection)
            connection.rollback()  # looking has begun a transaction; the migration begins its own
            config.attributes["connection"] = connection
            command.upgrade(config, to)

    def close(self) -> None:
        self.engine.dispose()


def newest_schema() -> str:
    """The step of the schema that this code works with."""
    head = ScriptDirectory.from_config(_migrations()).get_current_head()
    assert head is not None
    return head


def known_schemas() -> frozenset[str]:
    return frozenset(step.revision for step in ScriptDirectory.from_config(_migrations()).walk_revisions())


def _migrations() -> Config:
    config = Config()
    config.set_main_option("script_location", "journal_server.storage:migrations")
    return config


def _refuse_newer(connection: Connection) -> None:
    found = MigrationContext.configure(connection).get_current_revision()
    if found is not None and found not in known_schemas():
        raise JournalNewer(
            f"This journal was last used by a newer version of the program (its database is at step {found}; this "
            f"version knows steps up to {newest_schema()}). Nothing was changed: install the newer version again."
        )


def _engine(url: str, busy_wait_s: float) -> Engine:
    if not url.startswith("sqlite"):
        return create_engine(url)
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": busy_wait_s, "check_same_thread": False})

    @event.listens_for(engine, "connect")
    def _on_connect(connection: Any, _record: Any) -> None:
        # The driver's own transaction handling is switched off: it would begin too late for IMMEDIATE.
        connection.isolation_level = None
        cursor = connection.cursor()
        for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL"):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def plain_database_errors() -> Iterator[None]:
    """What a database answers, as the journal's own errors with a sentence for people."""
    try:
        yield
    except OperationalError as error:
        reason = str(error.orig).lower()
        if "locked" in reason:
            raise JournalBusy(
                "Another program is using this journal's database. Nothing was changed; try again in a moment."
            ) from error
        if "full" in reason:
            raise JournalBusy(
                "The disk is full. Nothing was changed and nothing is damaged; make room and try again."
            ) from error
        if "readonly" in reason or "unable to open" in reason:
            raise JournalBusy(
                f"The journal's database cannot be written ({error.orig}). Check the folder and its permissions."
            ) from error
        raise JournalBusy(f"The journal's database does not answer ({error.orig}). Nothing was changed.") from error
    except DBAPIError as error:
        if "malformed" in str(error.orig) or "not a database" in str(error.orig):
            raise JournalDamaged(
                f"The journal's database is damaged ({error.orig}). Restore the last backup into a new folder."
            ) from error
        raise
