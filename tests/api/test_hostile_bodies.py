"""Bodies that no client of ours sends, to every address that takes one: 4xx in the one shape, never 5xx."""

from __future__ import annotations

import io
import json
import re
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_photos import jpeg

from journal_server.domain.records import CREATABLE, KINDS
from journal_server.services.journal import Journal

DEEP = 10_000
HOSTILE_VALUES: tuple[Any, ...] = (
    None,
    True,
    0,
    -1,
    10**400,
    -(10**400),
    1e308,
    "",
    "\0",
    "a\0b",
    "\ud800",
    "\U0001f33c" * 50,
    "x" * 30_000,
    "9" * 400,
    "NaN",
    "1e999",
    "2026-02-30",
    "0000-00-00",
    "٢٠٢٦-٠٦-١٢",
    "9999-12-31T23:59:59+14:00",
    "0001-01-01T00:00:00-23:59",
    "2026-W24-5",
    str(uuid.UUID(int=0)),
    "{" + str(uuid.UUID(int=0))[1:],
    [],
    [[]],
    [None],
    [{}],
    ["\ud800"],
    [10**400] * 3,
    [[10**400, 0]] * 12,
    [[0, 0], [0, "x"], [1]],
    {},
    {"a": {}},
    {"class": [], "width": 1, "points": [[0, 0]]},
    [{"class": {}, "width": 10**400, "points": 1}],
    [{"class": "bloom", "width": 5, "points": [[10**400, 0]]}],
    [{"key": [], "planting_id": {}, "photo_ids": 1}],
    {"best": {}, "peak": []},
)


def raw_bodies() -> Iterator[bytes]:
    yield from (
        b"",
        b"{",
        b"[]",
        b"null",
        b'"x"',
        b"\xff\xfe\x00",
        b"\0" * 10,
        b'{"changes": NaN}',
        b'{"changes": [Infinity]}',
    )
    yield b"[" * DEEP + b"]" * DEEP
    yield b'{"changes":' + b"[" * DEEP + b"]" * DEEP + b"}"
    yield b'{"text":' + b'{"a":' * 900 + b"1" + b"}" * 900 + b"}"
    yield b'{"changes": [' + b"9" * 5000 + b"]}"
    yield b'{"text": "' + b"x" * 10_000_000 + b'"}'
    yield b'{"changes": [' + b"{}," * 3_000_000 + b"{}]}"
    yield b'{"\\ud800": "\\ud800", "text": "\\u0000", "name": "\\ud800", "role": "\\ud800", "trial_id": "\\u0000"}'


def post_addresses(client: FlaskClient) -> list[str]:
    rules = [rule for rule in client.application.url_map.iter_rules() if "POST" in (rule.methods or ())]
    return sorted(re.sub(r"<[^>]*>", str(uuid.UUID(int=7)), rule.rule) for rule in rules)


def assert_refused_in_shape(answer: Any, about: Any) -> None:
    assert answer.status_code < 500, about
    if answer.status_code >= 400:
        told = answer.get_json()
        assert told is not None, about
        if "results" not in told and "error" in told:
            assert set(told["error"]) == {"message", "field", "kind", "details"}, about
            assert told["error"]["message"].endswith("."), about


def test_bodies_that_are_no_sound_json(client: FlaskClient, set_up: SetUp) -> None:
    set_up.planting()
    addresses = post_addresses(client)
    assert len(addresses) > 10
    for body in raw_bodies():
        for address in addresses if len(body) < 1_000_000 else ("/api/changes", "/api/weather/import", "/api/settings"):
            answer = client.post(address, data=body, content_type="application/json")
            assert_refused_in_shape(answer, (address, body[:60]))
            if address not in ("/api/backups", "/api/leave"):  # which take no body
                assert 400 <= answer.status_code < 500, (address, body[:60], answer.get_json())


def test_a_body_beyond_the_limit_is_not_read(client: FlaskClient) -> None:
    body = b'{"text": "' + b"x" * 25_000_000 + b'"}'
    for address in ("/api/changes", "/api/planting-list", "/api/settings"):
        answer = client.post(address, data=body, content_type="application/json")
        assert answer.status_code == 413
        assert_refused_in_shape(answer, address)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_field_of_every_kind_with_values_of_every_kind(client: FlaskClient, set_up: SetUp, kind: str) -> None:
    planting_id = set_up.planting()
    for field in [*KINDS[kind], "no such field", "\ud800"]:
        changes = [
            {"kind": kind, "id": str(uuid.uuid4()), "base": {}, "fields": {"planting_id": planting_id, field: value}}
            for value in HOSTILE_VALUES
        ]
        answer = client.post("/api/changes", json={"changes": changes})
        assert answer.status_code in (200, 409, 422), (kind, field, answer.get_json())
        statuses = [result["status"] for result in answer.get_json()["results"]]
        assert "refused" in statuses or kind in CREATABLE
    whole = client.get("/api/changes?limit=2000")
    assert whole.status_code == 200
    assert json.loads(whole.data)["records"]


def test_every_part_of_a_change_with_values_of_every_kind(client: FlaskClient, set_up: SetUp) -> None:
    set_up.planting()
    for part in ("kind", "id", "fields", "base", "delete", "restore"):
        for value in HOSTILE_VALUES:
            change = {"kind": "trial", "id": str(uuid.uuid4()), "fields": {"title": "T", "year": 2026}} | {part: value}
            for given in (change, {"kind": "trial", "id": set_up.trial_id, part: value}):
                assert_refused_in_shape(client.post("/api/changes", json={"changes": [given]}), (part, value))
    for value in HOSTILE_VALUES:
        assert_refused_in_shape(client.post("/api/changes", json={"changes": [value]}), value)


def test_every_setting_with_values_of_every_kind(client: FlaskClient, journal: Journal) -> None:
    for name in [*journal.settings(), "\ud800", ""]:
        for value in HOSTILE_VALUES:
            assert_refused_in_shape(client.post("/api/settings", json={name: value}), (name, value))
    assert client.get("/api/settings").status_code == 200
    assert client.get("/api/home").status_code == 200


def test_every_part_of_other_bodies_with_values_of_every_kind(client: FlaskClient, set_up: SetUp) -> None:
    trial = set_up.trial_id
    bodies: dict[str, dict[str, Any]] = {
        "/api/planting-list": {"trial_id": trial, "text": "Trough 1, Petunia Made Up", "planted_on": "2026-05-16"},
        "/api/planting-list/import": {
            "trial_id": trial,
            "text": "a,b\n1,2\n",
            "columns": {},
            "has_headings": True,
            "date_order": None,
            "planted_on": None,
            "genus": "Petunia",
            "planter_name": "Trough",
            "planter_kind": "trough",
            "again": False,
        },
        "/api/weather/import": {
            "trial_id": trial,
            "text": "date,tmax\n2026-06-01,20\n",
            "columns": {},
            "date_order": None,
            "rain_unit": None,
            "temperature_unit": None,
            "station": "x",
            "first_day": None,
            "last_day": None,
            "forecast": False,
            "replace": False,
        },
        f"/api/trials/{trial}/new-season": {
            "title": "Next",
            "year": 2027,
            "planted_on": None,
            "plantings": None,
            "cards": None,
            "plans": True,
            "remove_on": None,
        },
        "/api/unsettled/accept": {"photo_ids": [], "all": False},
        "/api/measure-again": {"photo_ids": [], "all": False},
        "/api/devices": {"role": "reader"},
        "/api/pair": {"code": "AAAA-AAAA", "device_name": "x"},
        "/api/calendar-addresses": {"name": "x", "trial_id": trial},
    }
    for address, sound in bodies.items():
        for part in sound:
            for value in HOSTILE_VALUES:
                answer = client.post(address, json=sound | {part: value})
                assert_refused_in_shape(answer, (address, part, value))


# Where a body breaks off, its parser leaves a temporary file to the collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("address", ["/api/photos", "/api/recordings"])
def test_uploads_that_lie(client: FlaskClient, address: str) -> None:
    part = "photo" if address == "/api/photos" else "recording"
    photo = jpeg("2026:06:12 10:14:03")

    def form(head: str, content: bytes = photo, boundary: str = "b") -> bytes:
        return f"--{boundary}\r\n{head}\r\n\r\n".encode() + content + f"\r\n--{boundary}--\r\n".encode()

    named = f'Content-Disposition: form-data; name="{part}"; filename="a.jpg"'
    many_fields = b"".join(b'--b\r\nContent-Disposition: form-data; name="f%d"\r\n\r\nx\r\n' % n for n in range(20_000))
    many_files = b"".join(
        b'--b\r\nContent-Disposition: form-data; name="x%d"; filename="a"\r\n\r\nx\r\n' % n for n in range(5_000)
    )
    long_field = b'--b\r\nContent-Disposition: form-data; name="how"\r\n\r\n' + b"x" * 2_000_000 + b"\r\n--b--\r\n"
    for sent, kind in (
        (b"", "multipart/form-data; boundary=b"),
        (form(named), "multipart/form-data"),
        (form(named), "multipart/form-data; boundary=other"),
        (form(named), "multipart/form-data; boundary=" + "b" * 5000),
        (form(named)[:-200], "multipart/form-data; boundary=b"),
        (form("Content-Disposition: form-data"), "multipart/form-data; boundary=b"),
        (form(named, b"<html>"), "multipart/form-data; boundary=b"),
        (many_fields + form(named), "multipart/form-data; boundary=b"),
        (many_files, "multipart/form-data; boundary=b"),
        (long_field, "multipart/form-data; boundary=b"),
        (photo, "image/jpeg"),
        (b"a=b&" * 100_000, "application/x-www-form-urlencoded"),
    ):
        answer = client.post(address, data=sent, content_type=kind)
        assert_refused_in_shape(answer, (kind[:60], sent[:80]))
        assert answer.status_code >= 400, (kind[:60], sent[:80])


@pytest.mark.parametrize("name", ["id", "sha256", "visit_id", "planting_id", "taken_at", "how", "file_time"])
def test_what_a_phone_says_beside_a_photo_may_be_anything(client: FlaskClient, name: str) -> None:
    photo = jpeg("2026:06:12 10:14:03")
    for value in (value for value in HOSTILE_VALUES if isinstance(value, str) and "\ud800" not in value):
        answer = client.post("/api/photos", data={"photo": (io.BytesIO(photo), "a.jpg"), name: value})
        assert_refused_in_shape(answer, (name, value))
