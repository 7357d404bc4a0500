"""What two phones without a signal note on a walk, and what becomes of it when both send."""

import uuid
from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient

from journal_server.domain.derived_ids import derived_id

DAY = "2026-06-12"


class Phone:
    def __init__(self, client: FlaskClient, set_up: SetUp, planting: str):
        self.client, self.trial, self.planting = client, set_up.trial_id, planting
        self.walk = derived_id("walk", self.trial, DAY)
        self.visit = derived_id("visit", self.walk, planting)

    def send(self, *changes: dict[str, Any]) -> list[dict[str, Any]]:
        results = self.client.post("/api/changes", json={"changes": list(changes)}).get_json()["results"]
        return list(results)

    def create(self, kind: str, identity: str, **fields: Any) -> dict[str, Any]:
        return {"kind": kind, "id": identity, "base": {}, "fields": fields}

    def walk_made(self) -> dict[str, Any]:
        return self.create("walk", self.walk, trial_id=self.trial, walked_on=DAY)

    def visit_made(self, **more: Any) -> dict[str, Any]:
        fields = {"trial_id": self.trial, "walk_id": self.walk, "planting_id": self.planting, "visited_on": DAY}
        return self.create("visit", self.visit, **(fields | more))

    def finding(self, what: str = "dry") -> dict[str, Any]:
        fields = {"visit_id": self.visit, "planting_id": self.planting, "found_on": DAY, "what": what}
        return self.create("finding", str(uuid.uuid4()), **fields)

    def rating(self, rater: str | None = "Robin", **more: Any) -> dict[str, Any]:
        identity = derived_id("rating", self.visit, rater or "")
        fields = {"visit_id": self.visit, "planting_id": self.planting, "rated_on": DAY, "rater": rater}
        return self.create("rating", identity, **(fields | more))


@pytest.fixture
def phone(client: FlaskClient, set_up: SetUp) -> Phone:
    return Phone(client, set_up, set_up.planting())


def delete(kind: str, identity: str) -> dict[str, Any]:
    return {"kind": kind, "id": identity, "delete": True}


def statuses(results: list[dict[str, Any]]) -> list[str]:
    return [result["status"] for result in results]


def said(result: dict[str, Any]) -> str:
    assert result["status"] == "refused", result
    return str(result["errors"][0]["message"])


def test_two_phones_make_the_same_walk_and_visit(phone: Phone) -> None:
    assert statuses(phone.send(phone.walk_made(), phone.visit_made(remark="windy"), phone.finding("dry"))) == (
        ["applied"] * 3
    )
    second = phone.send(phone.walk_made(), phone.visit_made(done=True), phone.finding("faded"))
    assert statuses(second) == ["applied"] * 3
    fields = second[1]["record"]["fields"]
    assert (fields["remark"], fields["done"]) == ("windy", True), "both phones' words are there"
    feed = phone.client.get("/api/changes").get_json()["records"]
    assert sorted(r["kind"] for r in feed if r["kind"] in ("walk", "visit", "finding")) == [
        "finding",
        "finding",
        "visit",
        "walk",
    ]


def test_two_remarks_at_one_visit_are_for_a_person_to_choose(phone: Phone) -> None:
    phone.send(phone.walk_made(), phone.visit_made(remark="windy"))
    (clash,) = phone.send(phone.visit_made(remark="dry at the rim", done=True))
    assert clash["status"] == "conflict"
    assert clash["conflicts"] == [{"field": "remark", "yours": "dry at the rim", "theirs": "windy"}]
    assert clash["record"]["fields"]["done"] is False, "whole or not at all"


def test_two_raters_rate_beside_each_other_and_one_rater_once(phone: Phone) -> None:
    phone.send(phone.walk_made(), phone.visit_made())
    assert statuses(phone.send(phone.rating("Robin", flower=4), phone.rating(None, flower=2))) == ["applied"] * 2
    (more,) = phone.send(phone.rating("Robin", health=5))
    assert (more["record"]["fields"]["flower"], more["record"]["fields"]["health"]) == (4, 5)


def test_everything_sent_again_alters_nothing(phone: Phone) -> None:
    finding = phone.finding()
    sent = (phone.walk_made(), phone.visit_made(remark="windy"), finding, delete("finding", finding["id"]))
    first = phone.send(*sent[:3]) + phone.send(sent[3])
    edit = {"kind": "visit", "id": phone.visit, "fields": {"done": True}, "base": {"done": 1}}
    phone.send(edit)
    cursor = phone.client.get("/api/changes?limit=2000").get_json()["cursor"]
    again = phone.send(phone.walk_made(), phone.visit_made(remark="windy"), sent[3], edit)
    assert statuses(again) == ["applied"] * 4
    assert [again[0]["record"], again[2]["record"]] == [first[0]["record"], first[3]["record"]]
    assert phone.client.get(f"/api/changes?since={cursor}").get_json()["records"] == []


def test_a_change_to_what_was_deleted_elsewhere_is_refused_with_the_record(phone: Phone) -> None:
    finding = phone.finding()
    phone.send(phone.walk_made(), phone.visit_made(), finding)
    phone.send(delete("finding", finding["id"]))
    (late,) = phone.send({"kind": "finding", "id": finding["id"], "fields": {"note": "left side"}, "base": {"note": 1}})
    assert said(late) == "This finding was deleted meanwhile, here or on another phone."
    assert (late["record"]["deleted"], late["record"]["fields"]["what"]) == (True, "dry")
    (resent,) = phone.send(finding)
    assert resent["status"] == "refused", "made once, taken back once: it stays away"


def test_what_belongs_to_a_deleted_visit_is_refused_in_words_until_the_visit_comes_back(phone: Phone) -> None:
    phone.send(phone.walk_made(), phone.visit_made(remark="windy"), phone.rating(flower=3))
    assert said(phone.send(delete("visit", phone.visit))[0]) == "This visit is still used by 1 rating."
    assert statuses(phone.send(delete("rating", phone.rating()["id"]), delete("visit", phone.visit))) == ["applied"] * 2
    (late,) = phone.send(phone.finding())
    assert said(late) == "This visit was deleted meanwhile, here or on another phone."
    back, finding = phone.send(phone.visit_made(done=True), phone.finding())
    assert (back["status"], finding["status"]) == ("applied", "applied"), "its id is the only one it can have"
    fields = back["record"]["fields"]
    assert (back["record"]["deleted"], fields["remark"], fields["done"]) == (False, None, True)


def test_ids_that_do_not_follow_and_fields_that_they_follow_from_are_refused(phone: Phone, set_up: SetUp) -> None:
    wrong = {**phone.walk_made(), "id": str(uuid.uuid4())}
    assert said(phone.send(wrong)[0]) == "The id of a walk follows from its trial and day, and these stay as they are."
    phone.send(phone.walk_made(), phone.visit_made())
    other = set_up.planting()
    edit = {"kind": "visit", "id": phone.visit, "fields": {"planting_id": other}, "base": {"planting_id": 1}}
    (refused,) = phone.send(edit)
    assert "follows from its walk and planting" in said(refused)
    assert refused["record"]["fields"]["planting_id"] == phone.planting


def test_a_planting_that_is_used_says_by_what_and_what_to_do(phone: Phone) -> None:
    counted = {"planting_id": phone.planting, "counted_on": DAY, "plants": 3, "reason": "died"}
    care = {"trial_id": phone.trial, "planting_id": phone.planting, "done_on": DAY, "action": "fed", "product": "feed"}
    plan = {"trial_id": phone.trial, "planting_id": phone.planting, "action": "fed", "every_days": 7}
    made = phone.send(
        phone.walk_made(),
        phone.visit_made(),
        phone.create("care", str(uuid.uuid4()), visit_id=phone.visit, **care),
        phone.create("care", str(uuid.uuid4()), **care),
        phone.create("plant_count", str(uuid.uuid4()), **counted),
        phone.create("care_plan", str(uuid.uuid4()), **plan),
    )
    assert statuses(made) == ["applied"] * 6
    (refused,) = phone.send(delete("planting", phone.planting))
    assert said(refused) == (
        "This planting is still used by 2 care entries, 1 care plan, 1 plant count, 1 visit. "
        "Give it the day it was removed instead; its season is kept."
    )


def test_a_plan_ends_after_it_begins(phone: Phone) -> None:
    dates = {"begins_on": "2026-06-01", "ends_on": "2026-05-01"}
    plan = phone.create("care_plan", str(uuid.uuid4()), trial_id=phone.trial, action="fed", every_days=7, **dates)
    (refused,) = phone.send(plan)
    assert (refused["errors"][0]["field"], said(refused)) == ("ends_on", "The plan cannot end before it begins.")


def test_care_of_a_deleted_visit_may_be_sent_again(phone: Phone) -> None:
    care = {"trial_id": phone.trial, "done_on": DAY, "action": "watered", "visit_id": phone.visit}
    watered = phone.create("care", str(uuid.uuid4()), **care)
    phone.send(phone.walk_made(), phone.visit_made(), watered)
    assert statuses(phone.send(delete("visit", phone.visit), watered)) == ["applied"] * 2
