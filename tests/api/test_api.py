"""Every address: what it answers, and that bad input gets the one error shape with a plain sentence."""

import io
import uuid
from pathlib import Path
from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_photos import jpeg
from werkzeug.test import TestResponse

from journal_server import api
from journal_server.services.journal import Journal
from journal_server.storage.records import save_record

A = "TAG-7K3Q9M"


def send(client: FlaskClient, content: bytes, name: str = "IMG_1.jpg", **form: Any) -> TestResponse:
    return client.post("/api/photos", data={"photo": (io.BytesIO(content), name), **form})


def error_of(response: TestResponse) -> dict[str, Any]:
    body = response.get_json()
    assert set(body) == {"error"}
    assert set(body["error"]) == {"message", "field", "kind", "details"}
    assert body["error"]["message"].endswith(".")
    found: dict[str, Any] = body["error"]
    return found


def test_a_trial_is_set_up_and_read_back_through_the_feed(client: FlaskClient) -> None:
    identity = str(uuid.uuid4())
    change = {"kind": "trial", "id": identity, "fields": {"title": "Terrace", "year": "2026"}}
    posted = client.post("/api/changes", json={"changes": [change]})
    assert posted.status_code == 200
    feed = client.get("/api/changes?since=0").get_json()
    assert [(r["id"], r["fields"]["year"]) for r in feed["records"]] == [(identity, 2026)]
    assert client.get(f"/api/changes?since={feed['cursor']}").get_json()["records"] == []


def test_refused_and_conflicting_changes_have_their_status(client: FlaskClient, set_up: SetUp) -> None:
    trial = {"kind": "trial", "id": set_up.trial_id}
    refused = client.post("/api/changes", json={"changes": [trial | {"fields": {"year": 3}}]})
    assert refused.status_code == 422
    assert refused.get_json()["results"][0]["errors"][0]["field"] == "year"
    edit = trial | {"base": {"title": 1}}
    assert client.post("/api/changes", json={"changes": [edit | {"fields": {"title": "B"}}]}).status_code == 200
    clash = client.post("/api/changes", json={"changes": [edit | {"fields": {"title": "C"}}]})
    assert clash.status_code == 409
    assert clash.get_json()["results"][0]["conflicts"] == [{"field": "title", "yours": "C", "theirs": "B"}]


def test_a_photo_goes_in_and_its_pictures_come_out(client: FlaskClient, set_up: SetUp) -> None:
    planting = set_up.planting(A)
    content = jpeg("2026:06:12 10:14:03", codes=(A,))
    taken = send(client, content)
    assert taken.status_code == 201
    photo = taken.get_json()["photo"]
    assert photo["fields"]["planting_id"] == planting
    assert send(client, content, "again.jpg").status_code == 200
    for size in ("thumb", "screen", "full"):
        shown = client.get(f"/api/photos/{photo['id']}/picture?size={size}")
        assert (shown.status_code, shown.mimetype) == (200, "image/jpeg")
        assert "immutable" in shown.headers["Cache-Control"]
        shown.close()
    original = client.get(f"/api/photos/{photo['id']}/original")
    assert original.data == content
    assert "attachment" in original.headers["Content-Disposition"]
    original.close()
    assert error_of(client.get(f"/api/photos/{photo['id']}/classes"))["message"].startswith("This photo has not")


def test_what_is_no_photo_is_refused_with_a_sentence(client: FlaskClient) -> None:
    refused = send(client, b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "flower.jpg")
    assert refused.status_code == 422
    assert error_of(refused)["kind"] == "PhotoRefused"
    assert client.post("/api/photos", data={}).status_code == 422
    assert error_of(send(client, jpeg(), id="not an id"))["message"]
    assert error_of(send(client, jpeg(), file_time="yesterday"))["field"] == "file_time"


def test_the_tray_and_one_tap_for_all(client: FlaskClient, set_up: SetUp) -> None:
    planting = set_up.planting(A)
    send(client, jpeg("2026:06:12 10:14:03", codes=(A,)), "a.jpg")
    send(client, jpeg("2026:06:12 10:14:21", seed=1), "b.jpg")
    (waiting,) = client.get("/api/unsettled").get_json()["photos"]
    assert (waiting["suggestion"], "18 seconds" in waiting["reason"]) == (planting, True)
    assert client.get("/api/home").get_json()["unsettled"] == 1
    assert client.post("/api/unsettled/accept", json={"all": True}).get_json() == {"accepted": 1}
    assert client.get("/api/unsettled").get_json()["photos"] == []
    home = client.get("/api/home").get_json()
    assert home["last_walk"] == {"day": "2026-06-12", "photos": 2, "plantings": 1}
    assert home["last_backup"] is None


def test_asking_to_measure_again_says_how_many(client: FlaskClient, journal: Journal) -> None:
    photo = send(client, jpeg("2026:06:12 10:14:03")).get_json()["photo"]
    assert client.post("/api/measure-again", json={"all": True}).get_json() == {"asked": 0}
    with journal.database.writing() as session:
        save_record(session, "photo", photo["id"], {"measuring": "failed"})
    assert client.post("/api/measure-again", json={"photo_ids": [photo["id"]]}).get_json() == {"asked": 1}
    assert error_of(client.post("/api/measure-again", json={"photo_ids": "all"}))["field"] == "photo_ids"


LIST = """Planter\tCultivar\tGenus\tPlants\tExposure
Trough 1\t'Plum Lantern'\tPetunia\t4\tfull sun
Trough 2\tSea Whistle\tLobelia\t5\tpart shade
"""


def test_quick_entry_previews_then_creates_all(client: FlaskClient, set_up: SetUp) -> None:
    body = {"trial_id": set_up.trial_id, "text": LIST, "planted_on": "2026-05-16"}
    preview = client.post("/api/planting-list", json=body)
    assert [row["cultivar"] for row in preview.get_json()["rows"]] == ["Plum Lantern", "Sea Whistle"]
    assert preview.get_json()["created"] == []
    made = client.post("/api/planting-list", json=body | {"dry_run": False}).get_json()
    assert [r["kind"] for r in made["created"]] == ["planter", "cultivar", "planting"] * 2
    again = client.post("/api/planting-list", json=body | {"dry_run": False})
    assert again.status_code == 422, "the same list twice doubles nothing"


def test_a_list_with_one_wrong_cell_creates_nothing(client: FlaskClient, set_up: SetUp, journal: Journal) -> None:
    text = LIST + "Trough 3\t\tVerbena\tmany\tfull sun\n"
    body = {"trial_id": set_up.trial_id, "text": text, "planted_on": "2026-05-16", "dry_run": False}
    refused = client.post("/api/planting-list", json=body)
    assert refused.status_code == 422
    bad = refused.get_json()["rows"][2]
    assert (bad["line"], {e["field"] for e in bad["errors"]}) == (4, {"cultivar", "plants"})
    kinds = {r["kind"] for r in client.get("/api/changes").get_json()["records"]}
    assert kinds == {"trial"}


def test_cards_are_a_pdf(client: FlaskClient, set_up: SetUp) -> None:
    assert "Set up the trial first" in error_of(client.get("/api/cards.pdf"))["message"]
    set_up.planting(A)
    made = client.get("/api/cards.pdf?paper=letter")
    assert (made.mimetype, made.data[:5]) == ("application/pdf", b"%PDF-")
    assert error_of(client.get("/api/cards.pdf?paper=papyrus"))["field"] == "paper"


def test_settings_are_checked_and_kept(client: FlaskClient) -> None:
    assert error_of(client.post("/api/settings", json={"time_zone": "Mars/Base"}))["field"] == "time_zone"
    assert error_of(client.post("/api/settings", json={"volume": 11}))["field"] == "volume"
    client.post("/api/settings", json={"heat_day_c": 30})
    rows = {row["name"]: row["value"] for row in client.get("/api/settings").get_json()["settings"]}
    assert rows["heat_day_c"] == 30


def test_the_address_book_names_every_kind_and_field(client: FlaskClient) -> None:
    book = (Path(api.__file__).parent / "README.md").read_text(encoding="utf-8")
    rows = {row.split("`")[1]: row for row in book.splitlines() if row.startswith("| `") and row.count("|") == 3}
    kinds = client.get("/api/record-kinds").get_json()
    for kind, said in kinds.items():
        missing = [name for name in said["fields"] if f"`{name}`" not in rows[kind]]
        assert not missing, (kind, missing)
    assert kinds["visit"]["id_follows_from"] == ["walk_id", "planting_id"]
    assert kinds["recording"]["creatable"] is False


UNKNOWN = str(uuid.UUID(int=7))
BAD_CALLS = [
    ("GET", "/api/nothing", None, 404),
    ("DELETE", "/api/changes", None, 405),
    ("GET", "/api/changes?since=-1", None, 422),
    ("GET", "/api/changes?since=x", None, 422),
    ("GET", "/api/changes?limit=0", None, 422),
    ("POST", "/api/changes", [], 422),
    ("POST", "/api/changes", {"changes": []}, 422),
    ("POST", "/api/changes", {"changes": [{}] * 1001}, 422),
    ("GET", "/api/photos/x/picture", None, 404),
    ("GET", f"/api/photos/{UNKNOWN}/picture", None, 404),
    ("GET", f"/api/photos/{UNKNOWN}/picture?size=giant", None, 422),
    ("GET", f"/api/photos/{UNKNOWN}/original", None, 404),
    ("GET", f"/api/photos/{UNKNOWN}/classes", None, 404),
    ("POST", "/api/unsettled/accept", {"photo_ids": "all"}, 422),
    ("POST", "/api/planting-list", {"trial_id": UNKNOWN, "text": "Trough 1,Plum,Petunia,4"}, 404),
    ("POST", "/api/planting-list", {"trial_id": 5, "text": ""}, 422),
    ("POST", "/api/planting-list", {"trial_id": UNKNOWN, "text": 5}, 422),
    ("POST", "/api/planting-list", {"trial_id": UNKNOWN, "text": "\n\n"}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "cultivar,genus\nPlum,Petunia"}, 404),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": ""}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "a", "columns": {"price": 1}}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "a", "columns": {"genus": True}}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "a", "planter_kind": "shelf"}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "a", "planted_on": "soon"}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "a", "again": "yes"}, 422),
    ("POST", "/api/planting-list/import", {"trial_id": UNKNOWN, "text": "a", "has_headings": 1}, 422),
    ("GET", f"/api/cards.pdf?planting={UNKNOWN}", None, 404),
    ("GET", "/api/timeline.svg", None, 422),
    ("GET", f"/api/timeline.svg?trial={UNKNOWN}", None, 404),
    ("GET", f"/api/timeline.svg?trial={UNKNOWN}&width=1", None, 422),
    ("GET", f"/api/plantings/{UNKNOWN}/summary", None, 404),
    ("GET", f"/api/plantings/{UNKNOWN}/curves/canopy_fill.svg", None, 404),
    ("GET", "/api/numbers?format=pdf", None, 422),
]


@pytest.mark.parametrize(("method", "address", "body", "status"), BAD_CALLS)
def test_bad_calls_get_a_sentence_in_the_one_shape(
    client: FlaskClient, method: str, address: str, body: Any, status: int
) -> None:
    response = (
        client.open(address, method=method, json=body) if body is not None else client.open(address, method=method)
    )
    assert response.status_code == status
    assert error_of(response)["message"]


def test_a_body_that_is_no_json_is_refused(client: FlaskClient) -> None:
    for content in (b"", b"{", b"\xff\xfe", b"[1]", b"null"):
        response = client.post("/api/changes", data=content, content_type="application/json")
        assert response.status_code == 422
        assert error_of(response)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999", "99999999999999999999999999"])
def test_absurd_numbers_are_refused_at_their_field(client: FlaskClient, set_up: SetUp, number: str) -> None:
    body = f'{{"changes": [{{"kind": "trial", "id": "{set_up.trial_id}", "fields": {{"year": {number}}}}}]}}'
    response = client.post("/api/changes", data=body, content_type="application/json")
    assert response.status_code == 422
    assert response.get_json()["results"][0]["errors"][0]["field"] == "year"


def test_strangers_are_kept_out(client: FlaskClient) -> None:
    assert client.get("/api/home", headers={"Host": "evil.example"}).status_code == 403
    assert client.get("/", headers={"Host": "evil.example:8765"}).status_code == 403
    foreign = {"Origin": "http://evil.example"}
    assert client.post("/api/settings", json={"heat_day_c": 30}, headers=foreign).status_code == 403
    assert client.post("/api/settings", json={}, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert client.post("/api/settings", json={}, headers={"Origin": "http://localhost"}).status_code == 200


def test_headers_hold_on_pages_data_and_errors(client: FlaskClient) -> None:
    for address in ("/", "/api/home", "/api/nothing", "/nothing.js"):
        response = client.get(address)
        headers = response.headers
        response.close()
        assert "script-src 'self'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"


def test_no_file_outside_the_web_folder_is_served(client: FlaskClient) -> None:
    for path in ("/../pyproject.toml", "/%2e%2e/pyproject.toml", "/..%2fpyproject.toml", "//etc/passwd"):
        assert client.get(path, follow_redirects=False).status_code in (403, 404, 308)
