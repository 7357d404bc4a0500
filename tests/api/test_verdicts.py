"""Verdicts over the API: what is offered, how far each is, and which numbers under a text have changed."""

from __future__ import annotations

import re
from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_season import keep_numbers, measured_season, numbers

from journal_server.domain.derived_ids import derived_id
from journal_server.packaged import packaged_folder
from journal_server.services.journal import Journal
from journal_server.services.verdicts import NOT_OFFERED_WORDS

SEASON = {"2026-06-01": (0.2, 0.1), "2026-06-20": (0.5, 0.6), "2026-07-10": (0.8, 0.3), "2026-08-10": (0.85, 0.2)}
HOSTILE = '<img src=x onerror="alert(1)">‘’\u202e🌸'


class Review:
    """The verdict of one cultivar with one planting."""

    def __init__(self, client: FlaskClient, journal: Journal, set_up: SetUp, **cultivar: Any):
        self.client, self.journal, self.set_up = client, journal, set_up
        self.cultivar_id = set_up.make("cultivar", **{"genus": "Petunia", "name": "Plum", **cultivar})
        self.planting_id = set_up.planting(cultivar_id=self.cultivar_id, plants=5)
        self.about = {"trial_id": set_up.trial_id, "cultivar_id": self.cultivar_id, "place": "container"}
        self.id = derived_id("verdict", set_up.trial_id, self.cultivar_id, "container")

    def drafts(self, place: str = "container") -> dict[str, Any]:
        trial = self.set_up.trial_id
        answer = self.client.get(f"/api/verdict-drafts?trial={trial}&cultivar={self.cultivar_id}&place={place}")
        assert answer.status_code == 200, answer.get_json()
        return dict(answer.get_json())

    def sentence(self, key: str) -> dict[str, Any]:
        return next(one for one in self.drafts()["sentences"] if one["key"] == key)

    def listed(self) -> dict[str, Any]:
        body = self.client.get(f"/api/verdicts?trial={self.set_up.trial_id}").get_json()
        return next(one for one in body["verdicts"] if one["cultivar_id"] == self.cultivar_id)

    def save(self, **fields: Any) -> dict[str, Any]:
        change = {"kind": "verdict", "id": self.id, "fields": self.about | fields}
        (result,) = self.client.post("/api/changes", json={"changes": [change]}).get_json()["results"]
        return dict(result)

    def quote(self, key: str) -> dict[str, Any]:
        """A number as a phone keeps it beside the text."""
        (number,) = (one for one in self.drafts()["numbers"] if one["key"] == key)
        kept = {name: number[name] for name in ("key", "planting_id", "shown", "interval", "on", "photo_ids")}
        return kept | number["estimate"]


@pytest.fixture
def review(client: FlaskClient, journal: Journal, set_up: SetUp) -> Review:
    return Review(client, journal, set_up)


def test_a_sentence_links_each_number_to_its_photos(review: Review) -> None:
    photos = measured_season(review.journal, review.planting_id, SEASON)
    sentence = review.sentence("peak")
    assert sentence["text"] == "Bloom cover peaked at 60 % (58–62) on 20 June."
    words, part, end = sentence["parts"]
    assert (words["text"], part["text"], end["text"]) == ("Bloom cover peaked at ", "60 % (58–62)", " on 20 June.")
    number = part["number"]
    assert (number["photo_ids"], number["on"], number["methods"]) == ([photos[1]], "2026-06-20", ["made up, 1"])
    assert (number["shown"], number["interval"], number["planting_id"]) == ("60 %", "58–62", review.planting_id)
    assert sentence["numbers"] == [number]
    (listed,) = (one for one in review.drafts()["numbers"] if one["key"] == "peak")
    assert listed["quote"]["text"].startswith("Bloom cover at its peak: 60 % (90 % interval 58–62 %) on 20 June 2026")
    assert all((one["quote"] is None) == (one["estimate"] is None) for one in review.drafts()["numbers"])


def test_what_was_not_measured_is_not_offered_and_says_why(review: Review) -> None:
    found = review.drafts()
    assert all(not one["numbers"] for one in found["sentences"])
    reasons = {one["key"]: one["reason"] for one in found["not_offered"]}
    assert reasons["peak"] == "bloom cover was not measured on any photo"
    unknown = next(one for one in found["numbers"] if one["key"] == "peak")
    assert (unknown["estimate"], unknown["shown"], unknown["interval"]) == (None, None, None)
    assert found["pictures"] == {}


def test_every_sentence_that_may_be_left_out_has_words() -> None:
    folder = packaged_folder("web").parent / "journal_server" / "analysis" / "verdict_drafts"
    keys = {
        key
        for file in folder.glob("*.py")
        for key in re.findall(r'(?:draft|NotOffered)\(\s*"(\w+)"', file.read_text("utf-8"))
    }
    always_there = {"photos", "removed", "identity", "places", "renamed"}
    assert keys - always_there <= set(NOT_OFFERED_WORDS)
    assert len(keys) > 20


def test_pictures_are_suggested_from_the_measured_dates(review: Review) -> None:
    photos = measured_season(review.journal, review.planting_id, SEASON)
    assert review.drafts()["pictures"] == {
        "best": photos[1], "peak": photos[1], "latest": photos[-1], "before": photos[0], "after": photos[-1],
    }  # fmt: skip


def test_lengths_are_worded_in_the_units_of_the_person(review: Review) -> None:
    (photo,) = measured_season(review.journal, review.planting_id, {"2026-07-10": (0.8, 0.3)})
    spill = {"spill_cm": {"value": 25.4, "low": 20.3, "high": 30.5}}
    keep_numbers(review.journal, photo, review.planting_id, numbers(0.8, 0.3, **spill))
    assert review.sentence("spill")["text"] == "It hung 25 cm (20–30) below the rim at the most, on 10 July."
    review.journal.change_settings({"length_unit": "inches"})
    assert review.sentence("spill")["text"].startswith("It hung 10.0 in (8.0–12.0) below the rim")


def test_each_cultivar_is_listed_once_in_each_kind_of_place(review: Review, set_up: SetUp) -> None:
    second = set_up.planting(cultivar_id=review.cultivar_id)
    bed = set_up.make("planter", trial_id=set_up.trial_id, name="Bed", planter_kind="bed")
    ground = set_up.planting(cultivar_id=review.cultivar_id, planter_id=bed)
    body = review.client.get(f"/api/verdicts?trial={set_up.trial_id}").get_json()
    listed = [(one["place"], one["plantings"], one["state"]) for one in body["verdicts"]]
    assert listed == [("container", [review.planting_id, second], "not begun"), ("ground", [ground], "not begun")]
    assert len(review.drafts()["plantings"]) == 2
    assert [one["id"] for one in review.drafts("ground")["plantings"]] == [ground]


def test_a_verdict_goes_from_not_begun_to_written(review: Review) -> None:
    assert review.listed()["state"] == "not begun"
    assert review.save(good_for=["heat"])["status"] == "applied"
    assert review.listed()["state"] == "begun"
    review.save(grow_again="yes", one_line="A keeper.", text="Good.")
    assert (review.listed()["state"], review.listed()["missing"]) == ("written", ["next year"])


def test_a_number_measured_anew_is_flagged_and_the_text_stays(review: Review) -> None:
    photos = measured_season(review.journal, review.planting_id, SEASON)
    text = review.sentence("peak")["text"]
    review.save(text=text, quoted=[review.quote("peak")])
    assert review.listed()["changed"] == []
    keep_numbers(review.journal, photos[1], review.planting_id, numbers(0.5, 0.55))
    (changed,) = review.listed()["changed"]
    assert (changed["was"], changed["now"], changed["reason"]) == ("60 % (58–62)", "55 % (53–57)", None)
    records = review.client.get("/api/changes?since=0").get_json()["records"]
    assert next(one for one in records if one["id"] == review.id)["fields"]["text"] == text


def test_a_number_whose_photo_went_elsewhere_is_flagged(review: Review, set_up: SetUp) -> None:
    photos = measured_season(review.journal, review.planting_id, {"2026-06-20": (0.5, 0.6)})
    review.save(text="It peaked at 60 %.", quoted=[review.quote("peak")])
    set_up.edit("photo", photos[0], planting_id=set_up.planting())
    (changed,) = review.listed()["changed"]
    assert (changed["now"], changed["reason"]) == (None, "bloom cover was not measured on any photo")


def test_what_a_person_has_seen_and_kept_is_flagged_no_more(review: Review) -> None:
    photos = measured_season(review.journal, review.planting_id, SEASON)
    quoted = review.quote("peak")
    keep_numbers(review.journal, photos[1], review.planting_id, numbers(0.5, 0.55))
    review.save(text="60 % (58–62)", quoted=[quoted | {"kept": "55 % (53–57)"}])
    assert review.listed()["changed"] == []
    keep_numbers(review.journal, photos[1], review.planting_id, numbers(0.5, 0.5))
    assert review.listed()["changed"][0]["now"] == "50 % (48–52)"


def test_a_verdict_outlives_its_plantings(review: Review) -> None:
    measured_season(review.journal, review.planting_id, SEASON)
    review.save(text="60 %", quoted=[review.quote("peak")])
    photos = review.client.get("/api/changes?since=0").get_json()["records"]
    for photo in (one for one in photos if one["kind"] == "photo"):
        review.set_up.edit("photo", photo["id"], planting_id=None)
    gone = {"kind": "planting", "id": review.planting_id, "fields": {}, "delete": True}
    assert review.client.post("/api/changes", json={"changes": [gone]}).status_code == 200
    listed = review.listed()
    assert (listed["plantings"], listed["changed"][0]["reason"]) == ([], "it can no longer be had")
    assert review.drafts()["sentences"] == []


def test_a_cultivar_with_a_verdict_is_not_deleted(review: Review) -> None:
    review.save(one_line="A keeper.")
    planting = {"kind": "planting", "id": review.planting_id, "fields": {}, "delete": True}
    cultivar = {"kind": "cultivar", "id": review.cultivar_id, "fields": {}, "delete": True}
    results = review.client.post("/api/changes", json={"changes": [planting, cultivar]}).get_json()["results"]
    assert results[1]["errors"][0]["message"] == "This cultivar is still used by 1 verdict."


def test_two_phones_without_a_signal_make_one_verdict(review: Review) -> None:
    def create(**fields: Any) -> dict[str, Any]:
        change = {"kind": "verdict", "id": review.id, "fields": review.about | fields, "base": {}}
        (result,) = review.client.post("/api/changes", json={"changes": [change]}).get_json()["results"]
        return dict(result)

    assert create(grow_again="yes", text="Good.", good_for=[], pictures=None)["status"] == "applied"
    assert create(grow_again=None, text=None, good_for=["heat"], needs=["water"])["status"] == "merged"
    clash = create(grow_again="no", companions="Sutera")
    assert clash["status"] == "conflict"
    assert clash["conflicts"] == [{"field": "grow_again", "yours": "no", "theirs": "yes"}]
    fields = clash["record"]["fields"]
    assert (fields["text"], fields["good_for"], fields["needs"]) == ("Good.", ["heat"], ["water"])


def test_another_id_is_refused(review: Review) -> None:
    change = {"kind": "verdict", "id": review.planting_id[:-4] + "0000", "fields": review.about}
    (result,) = review.client.post("/api/changes", json={"changes": [change]}).get_json()["results"]
    assert result["errors"][0]["message"] == (
        "The id of a verdict follows from its trial and cultivar and place, and these stay as they are."
    )


def test_names_come_back_as_typed(client: FlaskClient, journal: Journal, set_up: SetUp) -> None:
    review = Review(client, journal, set_up, name=HOSTILE)
    measured_season(journal, review.planting_id, SEASON)
    assert review.drafts()["name"] == f"Petunia ‘{HOSTILE}’"


def test_a_cultivar_grown_for_its_leaves_is_offered_no_bloom(
    client: FlaskClient, journal: Journal, set_up: SetUp
) -> None:
    review = Review(client, journal, set_up, foliage_only=True)
    measured_season(journal, review.planting_id, SEASON)
    found = review.drafts()
    assert not any("loom" in one["text"] for one in found["sentences"])
    assert "peak" not in {one["key"] for one in found["not_offered"]}


@pytest.mark.parametrize(
    ("address", "status", "field"),
    [
        ("/api/verdicts", 422, "trial"),
        ("/api/verdicts?trial=what", 422, "trial"),
        ("/api/verdicts?trial=00000000-0000-0000-0000-000000000007", 404, None),
        ("/api/verdict-drafts?trial={trial}", 422, "cultivar"),
        ("/api/verdict-drafts?trial={trial}&cultivar={cultivar}&place=pot", 422, "place"),
        ("/api/verdict-drafts?trial={trial}&cultivar={cultivar}&place=ground", 404, None),
    ],
)
def test_wrong_questions_get_a_sentence(review: Review, address: str, status: int, field: str | None) -> None:
    asked = address.format(trial=review.set_up.trial_id, cultivar=review.cultivar_id)
    answer = review.client.get(asked)
    assert answer.status_code == status
    assert answer.get_json()["error"]["field"] == field
