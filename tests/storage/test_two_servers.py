"""Two servers on one PostgreSQL database and one photo store: one journal, and one goes on where the other fell."""

from __future__ import annotations

import contextlib
import http.client
import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from conftest import FreshDatabase
from made_photos import jpeg
from serving.test_lan import HERE, Running, ask, running
from storage.test_elsewhere import URL, bucket, server

from journal_server.services.pairing import MOST_WRONG_TRIES_OF_AN_ADDRESS
from journal_server.storage.claims import LEASE_S

__all__ = ["bucket", "server"]

pytestmark = [
    pytest.mark.postgresql_only,
    pytest.mark.filterwarnings(
        "ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning", "ignore::DeprecationWarning"
    ),  # of the server for tests and of the store's client, as in test_elsewhere
]


class Served:
    """One of the servers: as its own computer calls it, and as a phone in the network does."""

    def __init__(self, running: Running):
        self.process = running.process
        self.port = running.port(r"The journal is at http://127\.0\.0\.1:(\d+)/")
        self._lan = running.port(r"type http://127\.0\.0\.1:(\d+)/")

    def own(self, path: str, body: object = None) -> tuple[int, Any]:
        return ask(http.client.HTTPConnection(HERE, self.port, timeout=60), path, body)

    def phone(self, path: str, body: object = None, key: str = "") -> tuple[int, Any]:
        return ask(http.client.HTTPConnection(HERE, self._lan, timeout=60), path, body, Cookie=key)

    def send(self, photo: bytes, key: str) -> str:
        """Send a photo as a paired phone; returns what became of it."""
        form = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n%s\r\n--x--\r\n' % photo
        told = {"Content-Type": "multipart/form-data; boundary=x", "Cookie": key}
        with contextlib.closing(http.client.HTTPConnection(HERE, self._lan, timeout=60)) as connection:
            connection.request("POST", "/api/photos", form, told)
            outcome: str = json.load(connection.getresponse())["outcome"]
            return outcome

    def feed(self) -> list[dict[str, Any]]:
        records: list[dict[str, Any]] = self.own("/api/changes?limit=2000")[1]["records"]
        return records

    def wait_until_measured(self, photos: int) -> None:
        deadline = time.monotonic() + LEASE_S + 120
        while time.monotonic() < deadline:
            if self.own("/api/home")[1]["measuring"] == {"waiting": 0, "done": photos, "failed": 0}:
                return
            time.sleep(0.5)
        raise AssertionError(self.own("/api/home")[1]["measuring"])


@pytest.fixture
def both(bucket: Any, tmp_path: Path, fresh_database: FreshDatabase) -> Iterator[tuple[Served, Served]]:
    with fresh_database() as url, contextlib.ExitStack() as stack:
        assert url is not None
        shared = ("--database", url, "--photos", URL, "--plain-http", "--workers", "1")
        first, second = (Served(stack.enter_context(running(tmp_path / name, *shared))) for name in ("a", "b"))
        yield first, second


def photo(seed: int) -> bytes:
    return jpeg(f"2026:06:12 10:14:{seed:02}", seed=seed)


def test_one_journal_is_served_by_two(both: tuple[Served, Served]) -> None:
    """In one test, since two servers take their time to start."""
    first, second = both
    code = first.own("/api/devices", {"role": "helper"})[1]["code"]
    status, key = second.phone("/api/pair", {"code": code, "device_name": "Phone"})
    assert status == 201
    assert first.phone("/api/home", key=key)[0] == 200
    wrong_codes_are_counted_together(both)
    nothing_is_taken_or_measured_twice(both, key)
    what_one_was_measuring_is_taken_up(first, second, key)
    with contextlib.closing(http.client.HTTPConnection(HERE, second.port, timeout=60)) as connection:
        connection.request("DELETE", f"/api/devices/{second.own('/api/devices')[1]['devices'][0]['id']}")
        assert connection.getresponse().status == 200
    assert second.phone("/api/home", key=key)[0] == 401


def wrong_codes_are_counted_together(both: tuple[Served, Served]) -> None:
    both[0].own("/api/devices", {"role": "helper"})
    guess = {"code": "0000 0000", "device_name": "Stranger"}
    tried = [both[number % 2].phone("/api/pair", guess)[0] for number in range(MOST_WRONG_TRIES_OF_AN_ADDRESS + 2)]
    assert tried == [422] * MOST_WRONG_TRIES_OF_AN_ADDRESS + [429] * 2


def nothing_is_taken_or_measured_twice(both: tuple[Served, Served], key: str) -> None:
    sent = [both[number % 2].send(photo(number), key) for number in range(6)]
    again = [both[(number + 1) % 2].send(photo(number), key) for number in range(6)]
    assert (sent, again) == (["taken in"] * 6, ["already here"] * 6)
    both[0].wait_until_measured(6)
    feed = both[0].feed()
    assert feed == both[1].feed()
    measured = [one["fields"]["photo_id"] for one in feed if one["kind"] == "measurement"]
    assert sorted(measured) == sorted(one["id"] for one in feed if one["kind"] == "photo")
    assert {one.own(f"/api/photos/{id_}/picture?size=thumb")[0] for one in both for id_ in measured} == {200}


def what_one_was_measuring_is_taken_up(first: Served, second: Served, key: str) -> None:
    for number in range(6, 10):
        assert first.send(photo(number), key) == "taken in"
    first.process.kill()
    second.wait_until_measured(10)
    kinds = [one["kind"] for one in second.feed()]
    assert (kinds.count("photo"), kinds.count("measurement")) == (10, 10)
    assert second.send(photo(10), key) == "taken in"
