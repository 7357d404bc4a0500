"""Looking at a journal's database without changing it: of any schema, damaged ones included, while others write."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

from sqlalchemy import Column, MetaData, String, Table, create_engine, func, inspect, select
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from journal_server.storage.database import Database
from journal_server.storage.database_errors import plain_database_errors
from journal_server.storage.records import WITH_A_COLUMN
from journal_server.storage.tables import (
    Base,
    CounterRow,
    MeasurementRow,
    PhotoFileRow,
    RecordingFileRow,
    RecordRow,
    SettingRow,
)

FILE_TABLES = {"photo": PhotoFileRow, "recording": RecordingFileRow}
CONTENT = ("records", "measurements", "photo_files", "recording_files", "settings")
SCHEMA = Table("alembic_version", MetaData(), Column("version_num", String(32)))


class RecordSeen(NamedTuple):
    id: str
    kind: str
    deleted: bool
    fields: dict[str, Any]


class FileSeen(NamedTuple):
    """What a table says of the bytes behind a photo or recording."""

    sha256: str
    record_id: str
    suffix: str
    bytes: int

    @property
    def file_name(self) -> str:
        return f"{self.sha256}{self.suffix}"


class MeasurementSeen(NamedTuple):
    id: str
    photo_id: str
    measured_at: str


@contextmanager
def looking_at(file: Path, url: str | None = None) -> Iterator[Connection]:
    """The SQLite file opened read-only, or the database of the URL, in one transaction: one state of all tables."""
    database = Database(url) if url else None
    engine = (
        database.engine
        if database
        else create_engine("sqlite://", creator=lambda: _read_only(file), poolclass=NullPool)
    )
    try:
        with plain_database_errors(), engine.connect() as connection:
            if database is None:
                connection.exec_driver_sql("BEGIN")
            yield connection
    finally:
        engine.dispose()


def _read_only(file: Path) -> sqlite3.Connection:
    """In a folder that cannot be written the usual way fails, as SQLite keeps an index of its log there."""
    address = f"file:{quote(str(file.absolute()))}?mode=ro"
    connection = sqlite3.connect(address, uri=True, check_same_thread=False, isolation_level=None)
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError:
        connection.close()
        log = file.with_name(f"{file.name}-wal")
        if log.exists() and log.stat().st_size:  # what is in the log must not be passed over
            raise
        return sqlite3.connect(f"{address}&immutable=1", uri=True, check_same_thread=False, isolation_level=None)
    return connection


def schema_of(connection: Connection) -> str | None:
    """The step of the schema that the database stands at; None where no journal is in it."""
    if not inspect(connection).has_table(SCHEMA.name):
        return None
    return connection.execute(select(SCHEMA.c.version_num)).scalar()


def missing_tables(connection: Connection) -> list[str]:
    """Those that a database at the newest step should have."""
    return sorted(set(Base.metadata.tables) - set(inspect(connection).get_table_names()))


def filed_wrongly(connection: Connection) -> list[str]:
    """Records that are not found where they belong, as a column that repeats a field says something else."""
    return [
        f"{kind} {record_id} ({name})"
        for name, column in WITH_A_COLUMN.items()
        for kind, record_id in connection.execute(
            select(RecordRow.kind, RecordRow.id)
            .where(column.is_distinct_from(RecordRow.fields[name].as_string()))
            .order_by(RecordRow.seq)
        )
    ]


def integrity_problems(connection: Connection) -> list[str]:
    """What SQLite's own checks of the file and of its foreign keys find; nothing for other databases."""
    if connection.dialect.name != "sqlite":
        return []
    try:
        found = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check(20)")]
        keys = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    except DBAPIError as error:
        return [str(error.orig)]
    return [line for line in found if line != "ok"] + [f"a row of {row[0]} names no row of {row[2]}" for row in keys]


def records_seen(connection: Connection) -> Iterator[RecordSeen]:
    query = select(RecordRow.id, RecordRow.kind, RecordRow.deleted, RecordRow.fields)
    for row in connection.execute(query):
        yield RecordSeen(row.id, row.kind, bool(row.deleted), row.fields)


def files_seen(connection: Connection, kind: str) -> list[FileSeen]:
    """The rows of a kind's files; none where an earlier schema has no such table."""
    row: Any = FILE_TABLES[kind]
    if not inspect(connection).has_table(row.__tablename__):
        return []
    record_id = row.photo_id if kind == "photo" else row.recording_id
    query = select(row.sha256, record_id, row.suffix, row.bytes).order_by(row.sha256)
    return [FileSeen(*found) for found in connection.execute(query)]


def measurements_seen(connection: Connection) -> list[MeasurementSeen]:
    query = select(MeasurementRow.id, MeasurementRow.photo_id, MeasurementRow.measured_at)
    return [MeasurementSeen(*found) for found in connection.execute(query)]


def settings_seen(connection: Connection) -> dict[str, str]:
    return {row.name: row.value for row in connection.execute(select(SettingRow.name, SettingRow.value))}


def numbers_run_behind(connection: Connection) -> tuple[int, int] | None:
    """The counter of sequence numbers and the highest one given, where the counter is behind it; else None."""
    counter = connection.execute(select(CounterRow.value).where(CounterRow.name == "seq")).scalar() or 0
    highest = max(
        connection.execute(select(func.max(column))).scalar() or 0 for column in (RecordRow.seq, MeasurementRow.seq)
    )
    return None if counter >= highest else (counter, highest)


def content_lines(connection: Connection) -> Iterator[tuple[str, str]]:
    """Every row of what a person would miss, as (table, JSON of all its values), in a fixed order; of any schema."""
    there = inspect(connection).get_table_names()
    for name in CONTENT:
        if name in there:
            table = Table(name, MetaData(), autoload_with=connection)
            for found in connection.execute(select(table).order_by(*table.primary_key.columns)):
                yield name, json.dumps(dict(found._mapping), sort_keys=True, ensure_ascii=False)


def has_own_code(connection: Connection) -> bool:
    """Whether the database brings triggers or views along, which no journal has."""
    query = "SELECT count(*) FROM sqlite_master WHERE type NOT IN ('table', 'index') OR sql LIKE 'CREATE VIRTUAL%'"
    return bool(connection.exec_driver_sql(query).scalar_one())
