"""What a container asks: without a key, and without a word about the journal."""

import os
import sqlite3
from contextlib import closing

import pytest
from conftest import SetUp
from flask.testing import FlaskClient

from journal_server.app import create_app
from journal_server.services.journal import DATABASE_FILE, Journal
from journal_server.services.lan_door import LanDoor


def test_alive_and_ready(client: FlaskClient) -> None:
    assert client.get("/api/health").get_json() == {"status": "alive"}
    answer = client.get("/api/ready")
    assert (answer.status_code, answer.get_json()) == (200, {"status": "ready"})
    assert answer.headers["Cache-Control"] == "no-cache"


def test_no_key_is_asked_for_and_nothing_is_told(journal: Journal, set_up: SetUp) -> None:
    set_up.make("trial", title="Secret garden", year=2026)
    door = LanDoor("https", 8766, ["192.168.1.20"], trust_port=8767, authority=b"x", names=["192.168.1.20"])
    phone = create_app(journal, door=door, keyed=True).test_client()
    for address in ("/api/health", "/api/ready"):
        answer = phone.get(address, base_url="https://192.168.1.20:8766")
        assert answer.status_code == 200
        assert set(answer.get_json()) == {"status"}
    assert phone.get("/api/home", base_url="https://192.168.1.20:8766").status_code == 401


@pytest.mark.sqlite_only
def test_not_ready_where_nothing_can_be_kept(
    journal: Journal, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(os, "access", lambda path, mode: False)
        answer = client.get("/api/ready")
    assert answer.status_code == 503
    assert str(journal.folder) not in answer.get_data(as_text=True)
    with closing(sqlite3.connect(journal.folder / DATABASE_FILE)) as other, other:
        other.execute("ALTER TABLE counters RENAME TO elsewhere")
    assert client.get("/api/ready").status_code == 503
    assert client.get("/api/health").status_code == 200
