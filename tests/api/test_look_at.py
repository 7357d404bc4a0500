"""Things to look at over the API: what is answered, what an answer does, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_season import measured_season, photo_without_numbers

from journal_server.analysis.look_at.rule_settings import RULE_SETTINGS
from journal_server.domain.derived_ids import derived_id
from journal_server.packaged import packaged_folder
from journal_server.services.journal import Journal

DAY = "2026-07-15"
CARD = "TAG-7K3Q9M"


def asked(client: FlaskClient, set_up: SetUp, day: str = DAY) -> list[dict[str, Any]]:
    answer = client.get(f"/api/look-at?trial={set_up.trial_id}&day={day}")
    assert answer.status_code == 200
    body = answer.get_json()
    assert (body["day"], body["trial_id"]) == (day, set_up.trial_id)
    things: list[dict[str, Any]] = body["things"]
    return things


@pytest.fixture
def bare(journal: Journal, set_up: SetUp) -> str:
    """A planting that lost its bloom between 2 and 14 July."""
    planting = set_up.planting()
    measured_season(journal, planting, {"2026-07-02": (0.6, 0.3), "2026-07-14": (0.6, 0.03)}, CARD)
    return planting


def test_a_thing_comes_with_its_evidence(client: FlaskClient, set_up: SetUp, bare: str) -> None:
    (thing,) = asked(client, set_up)
    assert set(thing) == {
        "key", "rule", "planting_id", "day", "sentence", "evidence", "others", "caution", "answer", "copies"
    }  # fmt: skip
    assert (thing["rule"], thing["planting_id"], thing["day"]) == ("bloom_fell", bare, "2026-07-14")
    assert thing["key"] == derived_id("look_at_answer", bare, "bloom_fell", "2026-07-14")
    assert thing["answer"] is None
    first = thing["evidence"][0]
    assert (first["words"], first["value"], first["unit"], first["on"]) == ("bloom cover", 0.3, "share", "2026-07-02")
    assert len(first["photos"]) == 1
    assert first["quote"]["text"].startswith("Bloom cover: 30 % (90 % interval 28–32 %) on 2 July 2026, ")
    assert "\t30 %\t28–32 %\n" in thing["copies"]["text"]
    of_planting = client.get(f"/api/plantings/{bare}/look-at?day={DAY}").get_json()
    assert of_planting["things"] == [thing]
    assert asked(client, set_up, "2026-07-13") == []


def test_an_answer_holds_for_its_evidence_and_not_for_newer(
    client: FlaskClient, journal: Journal, set_up: SetUp, bare: str
) -> None:
    (thing,) = asked(client, set_up)
    fields = {"planting_id": bare, "rule": thing["rule"], "day": thing["day"], "answer": "dismissed"}
    change = {"kind": "look_at_answer", "id": thing["key"], "fields": fields, "base": {}}
    assert client.post("/api/changes", json={"changes": [change]}).status_code == 200
    assert [one["answer"] for one in asked(client, set_up)] == ["dismissed"]
    taken_back = {**change, "fields": {"answer": None}}
    assert client.post("/api/changes", json={"changes": [taken_back]}).status_code in (200, 409)
    del taken_back["base"]
    assert client.post("/api/changes", json={"changes": [taken_back]}).status_code == 200
    assert [one["answer"] for one in asked(client, set_up)] == [None]
    client.post("/api/changes", json={"changes": [{**taken_back, "fields": {"answer": "dismissed"}}]})
    measured_season(journal, bare, {"2026-07-18": (0.6, 0.02)}, CARD)
    (newer,) = asked(client, set_up, "2026-07-18")
    assert (newer["day"], newer["answer"]) == ("2026-07-18", None)


def test_an_answer_needs_the_id_that_two_phones_would_make(client: FlaskClient, bare: str) -> None:
    fields = {"planting_id": bare, "rule": "bloom_fell", "day": "2026-07-14", "answer": "noted"}
    wrong = {"kind": "look_at_answer", "id": "0f4c2a52-9f0d-4a0e-8a26-0a4b2a9b6c11", "fields": fields}
    answer = client.post("/api/changes", json={"changes": [wrong]})
    assert answer.status_code == 422
    assert "follows from" in answer.get_json()["results"][0]["errors"][0]["message"]
    key = derived_id("look_at_answer", bare, "bloom_fell", "2026-07-14")
    maybe = {**wrong, "id": key, "fields": fields | {"answer": "maybe"}}
    assert client.post("/api/changes", json={"changes": [maybe]}).status_code == 422


def test_a_planting_with_answers_can_be_deleted(client: FlaskClient, set_up: SetUp) -> None:
    planting = set_up.planting()
    key = derived_id("look_at_answer", planting, "identity_doubtful", "2026-05-16")
    fields = {"planting_id": planting, "rule": "identity_doubtful", "day": "2026-05-16", "answer": "dismissed"}
    client.post("/api/changes", json={"changes": [{"kind": "look_at_answer", "id": key, "fields": fields, "base": {}}]})
    gone = {"kind": "planting", "id": planting, "delete": True}
    assert client.post("/api/changes", json={"changes": [gone]}).status_code == 200


def test_settings_turn_a_rule_off_and_move_its_threshold(client: FlaskClient, set_up: SetUp, bare: str) -> None:
    shown = {row["name"]: row for row in client.get("/api/settings").get_json()["settings"]}
    assert shown["look_at_bloom_fell"]["group"] == "Things to look at"
    assert shown["look_at_bloom_fell"]["value"] == 60
    assert shown["time_zone"]["group"] == ""
    for value, told in ((95, 0), (0, 0), (60, 1)):
        assert client.post("/api/settings", json={"look_at_bloom_fell": value}).status_code == 200
        assert len(asked(client, set_up)) == told
    for wrong in (5, 101, "often", None):
        refused = client.post("/api/settings", json={"look_at_bloom_fell": wrong})
        assert refused.status_code == 422
        assert refused.get_json()["error"]["field"] == "look_at_bloom_fell"


def test_upkeep_comes_from_plans_photos_weather_and_the_planting_itself(
    client: FlaskClient, journal: Journal, set_up: SetUp
) -> None:
    planter = set_up.make(
        "planter", trial_id=set_up.trial_id, name="Pot", planter_kind="pot", exposure="full sun", walk_order=1
    )
    planting = set_up.planting(planter_id=planter, identity="doubtful", label_said="Plum", looks_like="a Lobelia")
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7, product="a liquid feed")
    set_up.make("care", trial_id=set_up.trial_id, done_on="2026-07-01", action="fed")
    set_up.make("weather", trial_id=set_up.trial_id, day="2026-07-17", tmin_c=20, tmax_c=35)
    photos = [photo_without_numbers(journal, planting, day) for day in ("2026-06-20", "2026-06-28")]
    said = {thing["rule"]: thing for thing in asked(client, set_up)}
    assert list(said) == ["care_overdue", "heat_ahead", "card_missing", "identity_doubtful", "not_photographed"]
    assert said["care_overdue"]["sentence"] == "Feeding (a liquid feed) was due on 8 July, 7 days ago."
    assert said["identity_doubtful"]["sentence"] == (
        "Which cultivar is it? The label said “Plum”; it looks like a Lobelia."
    )
    assert said["card_missing"]["evidence"][-1]["photos"] == photos[-1:]
    assert said["not_photographed"]["sentence"] == "Not photographed for 17 days."
    client.post("/api/settings", json={"not_seen_days": 0})
    assert "not_photographed" not in {thing["rule"] for thing in asked(client, set_up)}
    assert client.get("/api/home").get_json()["not_seen"] == []


def test_an_earlier_year_that_nobody_ended_is_not_called_unseen(client: FlaskClient, set_up: SetUp, bare: str) -> None:
    earlier = set_up.make("trial", title="Terrace", year=2025)
    planter = set_up.make("planter", trial_id=earlier, name="Old pot", planter_kind="pot")
    cultivar = set_up.make("cultivar", genus="Bidens", name="Of Old")
    set_up.make("planting", trial_id=earlier, planter_id=planter, cultivar_id=cultivar, planted_on="2025-05-16")
    assert [row["planting_id"] for row in client.get("/api/home").get_json()["not_seen"]] == [bare]


def test_removed_plantings_and_other_trials_are_left_out(client: FlaskClient, set_up: SetUp, bare: str) -> None:
    set_up.edit("planting", bare, removed_on="2026-07-14")
    assert asked(client, set_up, "2026-07-15") == []
    assert client.get(f"/api/plantings/{bare}/look-at?day=2026-07-15").get_json()["things"] == []
    other = set_up.make("trial", title="Elsewhere", year=2026)
    assert client.get(f"/api/look-at?trial={other}&day={DAY}").get_json()["things"] == []


def test_the_screen_has_words_for_every_rule() -> None:
    screen = (packaged_folder("web") / "screens" / "look_at_list.js").read_text(encoding="utf-8")
    assert [rule for rule in RULE_SETTINGS if f"  {rule}: " not in screen] == []


def test_without_a_day_it_is_today(client: FlaskClient, set_up: SetUp) -> None:
    assert len(client.get(f"/api/look-at?trial={set_up.trial_id}").get_json()["day"]) == 10


@pytest.mark.parametrize(
    ("address", "status", "field"),
    [
        ("/api/look-at", 422, "trial"),
        ("/api/look-at?trial=none", 404, None),
        ("/api/look-at?trial={trial}&day=yesterday", 422, "day"),
        ("/api/look-at?trial={trial}&day=2026-02-30", 422, "day"),
        ("/api/plantings/none/look-at", 404, None),
        ("/api/plantings/{trial}/look-at", 404, None),
    ],
)
def test_what_cannot_be_asked(client: FlaskClient, set_up: SetUp, address: str, status: int, field: str | None) -> None:
    refused = client.get(address.format(trial=set_up.trial_id))
    assert refused.status_code == status
    error = refused.get_json()["error"]
    assert error["field"] == field
    assert error["message"].endswith(".")
