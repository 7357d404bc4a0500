"""What every test may use: a fresh journal, its web client, and photos made on the spot."""

from __future__ import annotations

import contextlib
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import postgresql
import pytest
from flask.testing import FlaskClient

from journal_server.app import create_app
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal, open_journal
from journal_server.storage.database import Database

FreshDatabase = Callable[[], contextlib.AbstractContextManager[str | None]]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--on",
        choices=("sqlite", "postgresql"),
        default="sqlite",
        help="the database behind the journal of the tests; postgresql starts a server of the tests' own",
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Tests of one database itself are no tests of the other: there they are left out, not skipped."""
    other = "postgresql_only" if config.getoption("--on") == "sqlite" else "sqlite_only"
    left_out = [item for item in items if item.get_closest_marker(other)]
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if item not in left_out]


@pytest.fixture(scope="session")
def fresh_database(request: pytest.FixtureRequest) -> Iterator[FreshDatabase]:
    """Gives a database of its own to a journal: its URL, or None for the file in the journal's folder."""
    if request.config.getoption("--on") == "sqlite":
        yield contextlib.nullcontext
        return
    with postgresql.running_server() as server:
        upgraded = server.fresh()
        database = Database(upgraded)
        database.upgrade()
        database.close()

        @contextlib.contextmanager
        def copied() -> Iterator[str]:
            url = server.fresh(like=upgraded)
            try:
                yield url
            finally:
                server.drop(url)

        yield copied


@pytest.fixture
def journal(tmp_path: Path, fresh_database: FreshDatabase) -> Iterator[Journal]:
    with fresh_database() as url, contextlib.closing(open_journal(tmp_path / "journal", url)) as opened:
        opened.change_settings({"time_zone": "Europe/Paris"})
        yield opened


def data_options(journal: Journal) -> list[str]:
    """How a call on the command line is told of this journal."""
    return ["--data", str(journal.folder), "--database", journal.database.url]


@pytest.fixture
def client(journal: Journal) -> FlaskClient:
    return create_app(journal).test_client()


class SetUp:
    """A small trial that tests build on: ``planting(...)`` makes planter, cultivar and planting in walking order."""

    def __init__(self, journal: Journal):
        self.journal = journal
        self.trial_id = self.make("trial", title="Terrace", year=2026)
        self._count = 0

    def make(self, kind: str, **fields: Any) -> str:
        identity = str(uuid.uuid4())
        (result,) = apply_changes(self.journal, [{"kind": kind, "id": identity, "fields": fields}])
        assert not result.errors, [(e.field, str(e)) for e in result.errors]
        return identity

    def edit(self, kind: str, identity: str, **fields: Any) -> Any:
        (result,) = apply_changes(self.journal, [{"kind": kind, "id": identity, "fields": fields}])
        return result

    def planting(self, card_code: str | None = None, planted_on: str = "2026-05-16", **fields: Any) -> str:
        self._count += 1
        trial = self.trial_id
        planter_id = fields.pop("planter_id", None) or self.make(
            "planter", trial_id=trial, name=f"Trough {self._count}", planter_kind="trough"
        )
        cultivar_id = fields.pop("cultivar_id", None) or self.make(
            "cultivar", genus="Petunia", name=f"Made Up {self._count}"
        )
        return self.make(
            "planting",
            trial_id=trial,
            planter_id=planter_id,
            cultivar_id=cultivar_id,
            planted_on=planted_on,
            card_code=card_code,
            **fields,
        )


@pytest.fixture
def set_up(journal: Journal) -> SetUp:
    return SetUp(journal)
