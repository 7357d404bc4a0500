"""Opening the database, one transaction at a time, and bringing an older one up to date."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, create_engine, event, text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import ArgumentError
from sqlalchemy.orm import Session
from sqlalchemy.pool import NullPool

from journal_server.errors import InputRefused, JournalNewer
from journal_server.storage.database_errors import plain_database_errors

WRITERS = 7_265_001
"""The number of the lock, of all that PostgreSQL has for its users, that stands for writing in the journal."""
LONGEST_THOUGHT_S = 120
"""For how long who writes may leave the database without a word."""


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
        one_state = {} if self.on_sqlite else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        self._read_only = self.engine.execution_options(**one_state)

    @property
    def on_sqlite(self) -> bool:
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Session]:
        with plain_database_errors(), Session(self._read_only, expire_on_commit=False) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        bind = self.engine.execution_options(writing=True)
        with plain_database_errors(), Session(bind, expire_on_commit=False) as session, session.begin():
            session.connection()  # begins here and now: what is read for the decision stays true until it is written
            yield session

    @contextmanager
    def claiming(self) -> Iterator[Session]:
        """Like writing; on a database server beside those who write, for rows that guard themselves."""
        bind = self.engine.execution_options(writing=self.on_sqlite)
        with plain_database_errors(), Session(bind, expire_on_commit=False) as session, session.begin():
            session.connection()
            yield session

    def upgrade(self, to: str = "head") -> None:
        """Run all migrations that this database has not seen, up to the given one."""
        with plain_database_errors(), self.engine.execution_options(writing=True).connect() as connection:
            config = _migrations()
            _refuse_newer(connection)
            connection.rollback()  # looking has begun a transaction; the migration begins its own
            config.attributes["connection"] = connection
            command.upgrade(config, to)

    def is_earlier(self) -> bool:
        """Whether steps are missing that an upgrade would take; a database without tables is no earlier one."""
        with plain_database_errors(), self.engine.connect() as connection:
            return _step_of(connection) not in (None, newest_schema())

    def close(self) -> None:
        self.engine.dispose()


def which_database(session: Session) -> str:
    """What tells this PostgreSQL database from every other, and from itself after it was restored or moved."""
    system, timeline = "(pg_control_system()).system_identifier", "(pg_control_checkpoint()).timeline_id"
    oid = "(SELECT oid FROM pg_database WHERE datname = current_database())"
    return " ".join(map(str, session.execute(text(f"SELECT {system}, {timeline}, {oid}")).one()))


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
    found = _step_of(connection)
    if found is not None and found not in known_schemas():
        raise JournalNewer(
            f"This journal was last used by a newer version of the program (its database is at step {found}; this "
            f"version knows steps up to {newest_schema()}). Nothing was changed: install the newer version again."
        )


def _step_of(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def _engine(url: str, busy_wait_s: float) -> Engine:
    return _sqlite(url, busy_wait_s) if url.startswith("sqlite") else _postgresql(url, busy_wait_s)


def _postgresql(url: str, busy_wait_s: float) -> Engine:
    """As SQLite does it: who writes is alone from beginning to end, who reads sees one state of all.

    So what a decision was read from stays true until it is written, and there is nothing to deadlock or to try again.
    """
    engine = create_engine(
        url,
        pool_pre_ping=True,  # a connection may be from before the server was started anew
        pool_size=8,
        max_overflow=40,  # more than the web server has threads
        connect_args={"connect_timeout": 10, "options": f"-c lock_timeout={round(busy_wait_s * 1000)}"},
    )

    @event.listens_for(engine, "begin")
    def _on_begin(connection: Connection) -> None:
        if connection.get_execution_options().get("writing", False):
            connection.exec_driver_sql(
                f"SET LOCAL idle_in_transaction_session_timeout = {LONGEST_THOUGHT_S * 1000}"
            )  # a computer that fell asleep does not keep the others waiting
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS})")

    return engine


def _sqlite(url: str, busy_wait_s: float) -> Engine:
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
