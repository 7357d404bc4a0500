"""What is sent has bounds: size, parts, and how many files a device sends in a minute; every answer has its headers."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pytest
from api.test_access import HELPER, door, filled, paired, phone
from flask.testing import FlaskClient
from made_photos import jpeg

from journal_server.api.access import LEAST_ROLE
from journal_server.app import MOST_FORM_PARTS
from journal_server.measurement.photo_file import MAX_BYTES
from journal_server.services.journal import Journal
from journal_server.services.per_minute import PerMinute

__all__ = ["door", "phone"]

PHOTO = jpeg("2026:06:12 10:14:03")


def send(client: FlaskClient, photo: bytes = PHOTO, **more: str) -> int:
    data = {"photo": (io.BytesIO(photo), "a.jpg"), **more}
    return client.post("/api/photos", data=data).status_code


def test_a_device_that_runs_wild_is_held_off_and_the_others_are_not(
    journal: Journal, client: FlaskClient, phone: Callable[[], FlaskClient]
) -> None:
    now = 0.0
    journal.uploads = PerMinute(3, lambda: now)
    wild, other = phone(), phone()
    for device in (wild, other):
        paired(journal, device, HELPER)
    seen = [send(wild) for _ in range(5)]
    assert seen == [201, 200, 200, 429, 429]
    refused = wild.post("/api/recordings", data={})
    assert (refused.status_code, refused.get_json()["error"]["kind"]) == (429, "TooManyTries")
    assert [send(other), send(client)] == [200, 200]
    assert wild.get("/api/home").status_code == 200
    now = 60.0
    assert send(wild) == 200


def test_more_parts_than_an_upload_has_are_not_read(client: FlaskClient) -> None:
    assert send(client, **{f"word{at}": "x" for at in range(MOST_FORM_PARTS - 1)}) == 201
    assert send(client, **{f"word{at}": "x" for at in range(MOST_FORM_PARTS)}) == 413


def test_larger_than_a_photo_may_be_is_refused_by_what_it_says_it_is(client: FlaskClient) -> None:
    told = {"CONTENT_LENGTH": str(MAX_BYTES + 2_000_000), "CONTENT_TYPE": "multipart/form-data; boundary=x"}
    answer = client.post("/api/photos", data=b"--x", environ_overrides=told)
    assert answer.status_code == 413
    assert answer.get_json()["error"]["message"].startswith(
        f"This is larger than is taken in (a photo: up to {MAX_BYTES // 10**6} MB)"
    )


@pytest.mark.parametrize(
    ("sent", "saved"),
    [("I.JPG", "I.JPG"), ("a.jpeg", "a.jpeg"), ("page.html", "page.html.jpg"), ("a.jpg.exe", "a.jpg.exe.jpg")],
)
def test_a_photo_is_saved_as_a_photo_whatever_it_was_called(client: FlaskClient, sent: str, saved: str) -> None:
    photo_id = client.post("/api/photos", data={"photo": (io.BytesIO(PHOTO), sent)}).get_json()["photo"]["id"]
    answer = client.get(f"/api/photos/{photo_id}/original")
    told = answer.headers["Content-Disposition"], answer.headers["Content-Type"]
    answer.close()
    assert told == (f"attachment; filename={saved}", "image/jpeg")


@pytest.mark.parametrize(("method", "rule"), sorted(LEAST_ROLE))
def test_every_answer_keeps_its_type_runs_no_strangers_script_and_tells_no_address(
    client: FlaskClient, method: str, rule: str
) -> None:
    with client.open(filled(rule), method=method, json={} if method == "POST" else None) as answer:
        policy = answer.headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'")
        assert "frame-ancestors 'none'" in policy
        assert not re.search(r"script-src[^;]*('unsafe|https?:|\*|data:)", policy)
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert answer.status_code < 500
