"""What every test may use: a fresh journal, its web client, and photos made on the spot."""

from __future__ import annotations

import contextlib
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from journal_server.app import create_app
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal, open_journal


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with contextlib.closing(open_journal(tmp_path / "journal")) as opened:
        opened.change_settings({"time_zone": "Europe/Paris"})
        yield opened


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
