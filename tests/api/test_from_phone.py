"""Photos as a phone sends them: with its own id and hash, the visit they belong to, and what a person said."""

import hashlib
import io
import uuid
from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_photos import jpeg
from werkzeug.test import TestResponse

from journal_server.domain.derived_ids import derived_id

A, B = "TAG-7K3Q9M", "TAG-0V4CAR"
NOON = "2026:06:12 12:00:00"


def send(client: FlaskClient, content: bytes, **form: Any) -> TestResponse:
    return client.post("/api/photos", data={"photo": (io.BytesIO(content), "capture.jpg"), **form})


def fields_of(client: FlaskClient, record_id: str) -> dict[str, Any]:
    records = client.get("/api/changes?limit=2000").get_json()["records"]
    (found,) = (record["fields"] for record in records if record["id"] == record_id)
    return dict(found)


def change(client: FlaskClient, kind: str, identity: str, **fields: Any) -> dict[str, Any]:
    sent = {"kind": kind, "id": identity, "fields": fields, "base": {}}
    (result,) = client.post("/api/changes", json={"changes": [sent]}).get_json()["results"]
    assert result["status"] == "applied", result
    return dict(result["record"])


def visit_ids(set_up: SetUp, planting: str, day: str = "2026-06-12") -> tuple[str, str]:
    walk = derived_id("walk", set_up.trial_id, day)
    return walk, derived_id("visit", walk, planting)


def visit(client: FlaskClient, set_up: SetUp, planting: str, day: str = "2026-06-12") -> str:
    walk, identity = visit_ids(set_up, planting, day)
    trial = set_up.trial_id
    change(client, "walk", walk, trial_id=trial, walked_on=day)
    change(client, "visit", identity, trial_id=trial, walk_id=walk, planting_id=planting, visited_on=day)
    return identity


def test_a_photo_of_a_visit_goes_to_its_planting_and_the_phone_gets_its_receipt(
    client: FlaskClient, set_up: SetUp
) -> None:
    planting, content, identity = set_up.planting(A), jpeg(), str(uuid.uuid4())
    sha256 = hashlib.sha256(content).hexdigest()
    stop = visit(client, set_up, planting)
    said = {"id": identity, "sha256": sha256, "visit_id": stop, "how": "viewfinder"}
    taken = send(client, content, taken_at="2026-06-12T11:59:58+02:00", **said)
    answer = taken.get_json()
    assert (taken.status_code, answer["received"]) == (201, {"id": identity, "sha256": sha256})
    found = answer["photo"]["fields"]
    assert (answer["photo"]["id"], found["planting_id"], found["match"]) == (identity, planting, "matched")
    assert (found["match_reason"], found["how"]) == ("Taken at this planting on the walk.", "viewfinder")
    assert (found["taken_at"], found["taken_at_source"]) == ("2026-06-12T11:59:58+02:00", "phone")
    again = send(client, content, **said)
    assert (again.status_code, again.get_json()["received"]) == (200, {"id": identity, "sha256": sha256})
    assert again.get_json()["photo"]["version"] == answer["photo"]["version"], "a resend changes nothing"


def test_the_cameras_own_moment_goes_before_the_phones(client: FlaskClient) -> None:
    found = send(client, jpeg(NOON), taken_at="2026-06-13T11:00:00+02:00").get_json()["photo"]["fields"]
    assert (found["taken_at"], found["taken_at_source"]) == ("2026-06-12T12:00:00+02:00", "exif")


def test_bytes_that_are_not_those_sent_are_kept_nowhere(client: FlaskClient) -> None:
    content = jpeg(NOON)
    refused = send(client, content[:-1], sha256=hashlib.sha256(content).hexdigest(), id=str(uuid.uuid4()))
    assert (refused.status_code, refused.get_json()["error"]["kind"]) == (400, "TransferDamaged")
    assert "send it again" in refused.get_json()["error"]["message"]
    assert client.get("/api/changes").get_json()["records"] == []


def test_a_card_of_another_planting_makes_it_a_question_between_the_two(client: FlaskClient, set_up: SetUp) -> None:
    here, other = set_up.planting(A), set_up.planting(B)
    stop = visit(client, set_up, here)
    found = send(client, jpeg(NOON, codes=(B,)), visit_id=stop).get_json()["photo"]["fields"]
    assert (found["match"], found["planting_id"], found["choices"]) == ("question", None, [here, other])
    assert B in found["match_reason"]


def test_a_visit_that_comes_later_than_its_photo(client: FlaskClient, set_up: SetUp) -> None:
    planting, elsewhere = set_up.planting(A), set_up.planting(B)
    _, stop = visit_ids(set_up, planting)
    photo = send(client, jpeg(NOON, codes=(B,)), visit_id=stop).get_json()["photo"]
    assert photo["fields"]["planting_id"] == elsewhere, "the ordinary rules as long as the visit is not here"
    assert photo["fields"]["match_reason"].endswith("The visit it was taken on has not arrived here yet.")
    bare = send(client, jpeg("2026:06:12 17:00:00", seed=2), visit_id=stop).get_json()["photo"]
    assert bare["fields"]["match"] == "question"
    visit(client, set_up, planting)
    assert fields_of(client, bare["id"])["planting_id"] == planting
    assert fields_of(client, photo["id"])["choices"] == [planting, elsewhere]


def test_a_visit_that_is_deleted_leaves_its_photo_to_the_ordinary_rules(client: FlaskClient, set_up: SetUp) -> None:
    planting = set_up.planting(A)
    stop = visit(client, set_up, planting)
    photo = send(client, jpeg(NOON, codes=(A,)), visit_id=stop).get_json()["photo"]
    gone = client.post("/api/changes", json={"changes": [{"kind": "visit", "id": stop, "delete": True}]})
    assert gone.status_code == 200
    found = fields_of(client, photo["id"])
    assert found["planting_id"] == planting
    assert found["match_reason"] == f"Card {A} and the date. The visit it was taken on was deleted."


def test_what_a_person_said_on_the_phone_is_set_by_hand(client: FlaskClient, set_up: SetUp) -> None:
    planting = set_up.planting(A)
    set_up.planting(B)
    found = send(client, jpeg(NOON, codes=(B,)), planting_id=planting).get_json()["photo"]["fields"]
    assert (found["match"], found["planting_id"]) == ("set by hand", planting)


def test_a_named_planting_that_comes_later_is_set_by_hand_then(client: FlaskClient, set_up: SetUp) -> None:
    planting, known = str(uuid.uuid4()), set_up.planting(B)
    photo = send(client, jpeg(NOON, codes=(B,)), planting_id=planting).get_json()["photo"]
    assert photo["fields"]["planting_id"] == known
    assert "a planting for it that is not in this journal" in photo["fields"]["match_reason"]
    like = fields_of(client, known)
    names = ("trial_id", "planter_id", "cultivar_id", "planted_on")
    change(client, "planting", planting, **{name: like[name] for name in names})
    found = fields_of(client, photo["id"])
    assert (found["match"], found["planting_id"], found["measuring"]) == ("set by hand", planting, "waiting")


def test_the_same_bytes_by_another_phone_get_a_receipt_and_lend_their_visit(client: FlaskClient, set_up: SetUp) -> None:
    planting, content, second = set_up.planting(A), jpeg(NOON), str(uuid.uuid4())
    first = send(client, content, id=str(uuid.uuid4())).get_json()["photo"]
    stop = visit(client, set_up, planting)
    again = send(client, content, id=second, visit_id=stop)
    answer = again.get_json()
    assert (again.status_code, answer["received"]["id"], answer["photo"]["id"]) == (200, second, first["id"])
    assert (answer["photo"]["fields"]["visit_id"], answer["photo"]["fields"]["planting_id"]) == (stop, planting)
    other = send(client, content, visit_id=str(uuid.uuid4())).get_json()["photo"]
    assert other["fields"]["visit_id"] == stop, "what is there stays"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("visit_id", "here"),
        ("planting_id", "7"),
        ("id", "x"),
        ("taken_at", "noon"),
        ("taken_at", "2026-06-12T12:00:00"),
        ("how", "telescope"),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_field(client: FlaskClient, name: str, value: str) -> None:
    refused = send(client, jpeg(NOON), **{name: value})
    assert (refused.status_code, refused.get_json()["error"]["field"]) == (422, name)


def test_an_empty_capture_is_refused_with_a_sentence(client: FlaskClient) -> None:
    refused = send(client, b"", sha256=hashlib.sha256(b"").hexdigest())
    assert (refused.status_code, refused.get_json()["error"]["kind"]) == (422, "PhotoRefused")
