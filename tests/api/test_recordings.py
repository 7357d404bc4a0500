"""Spoken remarks: taken in once, played back, refused with a sentence when they are none."""

import hashlib
import io
import stat
import uuid
from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_sounds import HEIC, MATROSKA, MP4, OGG_OPUS, OGG_VIDEO, WEBM, wav
from werkzeug.test import TestResponse

from journal_server.services import sound_kinds
from journal_server.services.journal import Journal


def send(client: FlaskClient, content: bytes, name: str = "remark", **form: Any) -> TestResponse:
    return client.post("/api/recordings", data={"recording": (io.BytesIO(content), name), **form})


def test_a_recording_is_kept_to_the_byte_once_and_comes_with_the_feed(
    client: FlaskClient, journal: Journal, set_up: SetUp
) -> None:
    planting, content, identity, visit = set_up.planting(), wav(), str(uuid.uuid4()), str(uuid.uuid4())
    sha256 = hashlib.sha256(content).hexdigest()
    said = {"id": identity, "sha256": sha256, "planting_id": planting, "visit_id": visit}
    taken = send(client, content, recorded_at="2026-06-12T12:00:00+02:00", seconds="3.5", **said)
    answer = taken.get_json()
    assert (taken.status_code, answer["received"]) == (201, {"id": identity, "sha256": sha256})
    found = answer["recording"]["fields"]
    assert (found["mime"], found["bytes"], found["seconds"]) == ("audio/wav", len(content), 3.5)
    assert (found["planting_id"], found["visit_id"]) == (planting, visit), "a visit may arrive later"
    again = send(client, content, **(said | {"id": str(uuid.uuid4())}))
    assert (again.status_code, again.get_json()["recording"]) == (200, answer["recording"])
    assert again.get_json()["received"]["id"] != identity
    (path,) = journal.recordings.all_files()
    assert path.read_bytes() == content
    assert stat.S_IMODE(path.stat().st_mode) == 0o444
    feed = client.get("/api/changes").get_json()["records"]
    assert [r["id"] for r in feed if r["kind"] == "recording"] == [identity]


def test_it_plays_whole_and_in_parts(client: FlaskClient) -> None:
    content = wav(0.5)
    recording = send(client, content).get_json()["recording"]["id"]
    whole = client.get(f"/api/recordings/{recording}/sound")
    assert (whole.data, whole.mimetype) == (content, "audio/wav")
    assert whole.headers["X-Content-Type-Options"] == "nosniff"
    assert whole.headers["Accept-Ranges"] == "bytes"
    whole.close()
    part = client.get(f"/api/recordings/{recording}/sound", headers={"Range": "bytes=10-19"})
    assert (part.status_code, part.data) == (206, content[10:20])
    assert part.headers["Content-Range"] == f"bytes 10-19/{len(content)}"
    part.close()
    beyond = client.get(f"/api/recordings/{recording}/sound", headers={"Range": "bytes=999999-"})
    assert beyond.status_code == 416
    assert beyond.get_json()["error"]["message"].endswith(".")


@pytest.mark.parametrize(
    ("content", "mime"), [(WEBM, "audio/webm"), (OGG_OPUS, "audio/ogg"), (MP4, "audio/mp4"), (wav(), "audio/wav")]
)
def test_its_kind_is_told_by_its_first_bytes(client: FlaskClient, content: bytes, mime: str) -> None:
    assert send(client, content, "remark.exe").get_json()["recording"]["fields"]["mime"] == mime


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (MATROSKA, "not a sound recording"),
        (OGG_VIDEO, "not a sound recording"),
        (HEIC, "not a sound recording"),
        (b"<html>", "not a sound recording"),
        (b"ID3\x04", "not a sound recording"),
    ],
)
def test_what_is_no_recording_is_refused_and_nothing_is_kept(
    client: FlaskClient, journal: Journal, content: bytes, words: str
) -> None:
    refused = send(client, content)
    error = refused.get_json()["error"]
    assert (refused.status_code, error["kind"]) == (422, "RecordingRefused")
    assert words in error["message"]
    assert list(journal.recordings.all_files()) == []


def test_the_longest_that_fits(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    content = wav()
    monkeypatch.setattr(sound_kinds, "MAX_RECORDING_BYTES", len(content) - 1)
    sha256 = hashlib.sha256(content).hexdigest()
    assert "shorter parts" in send(client, content, sha256=sha256).get_json()["error"]["message"]


def test_damaged_on_the_way_is_said_so(client: FlaskClient, journal: Journal) -> None:
    refused = send(client, wav()[:-1], sha256=hashlib.sha256(wav()).hexdigest())
    assert (refused.status_code, refused.get_json()["error"]["kind"]) == (400, "TransferDamaged")
    assert list(journal.recordings.all_files()) == []


def test_bad_calls_have_a_sentence(client: FlaskClient) -> None:
    assert client.post("/api/recordings", data={}).get_json()["error"]["field"] == "recording"
    assert send(client, wav(), seconds="long").get_json()["error"]["field"] == "seconds"
    for unknown in ("x", str(uuid.uuid4())):
        assert client.get(f"/api/recordings/{unknown}/sound").status_code == 404


def test_deleted_it_is_played_no_more_and_a_resend_brings_nothing_back(client: FlaskClient) -> None:
    identity = send(client, wav()).get_json()["recording"]["id"]
    change = {"kind": "recording", "id": identity, "delete": True}
    assert client.post("/api/changes", json={"changes": [change]}).status_code == 200
    refused = client.get(f"/api/recordings/{identity}/sound")
    assert (refused.status_code, "deleted" in refused.get_json()["error"]["message"]) == (404, True)
    again = send(client, wav(), id=identity, visit_id=str(uuid.uuid4()))
    assert (again.status_code, again.get_json()["recording"]["deleted"]) == (200, True)
    assert again.get_json()["received"]["id"] == identity, "so that the phone lets go of its copy"
