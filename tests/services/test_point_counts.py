"""Point counts held against the method: of a real photo that is measured, and of made-up ones by the dozen."""

from __future__ import annotations

import random
import uuid
from typing import Any

import pytest
from conftest import SetUp
from made_season import photo_without_numbers

from journal_server.domain.field_checks import record_id
from journal_server.errors import NotFound
from journal_server.measurement import segmentation
from journal_server.measurement.class_map import classes_at
from journal_server.packaged import packaged_folder
from journal_server.services.apply_changes import apply_changes
from journal_server.services.class_maps import class_map
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.measuring_inputs import plan_measuring
from journal_server.services.point_counts import agreement, photo_result
from journal_server.services.take_in_photo import take_in_file

FRAME = [[200, 250], [820, 250], [820, 520], [200, 520]]
LETTER = {"bloom": "b", "spent": "s", "foliage": "f"}


def points_in_frame(number: int, seed: int = 1) -> list[list[float]]:
    drawn = random.Random(seed)
    return [[round(drawn.uniform(200, 820), 1), round(drawn.uniform(250, 520), 1)] for _ in range(number)]


def count(journal: Journal, photo_id: str, answers: str, **more: Any) -> str:
    identity = str(uuid.uuid4())
    fields = {
        "photo_id": photo_id, "polygon": FRAME, "points": points_in_frame(len(answers)), "answers": answers, "seed": 1,
        "counted_on": "2026-07-02", "ended": True,
    } | more  # fmt: skip
    (result,) = apply_changes(journal, [{"kind": "point_count", "id": identity, "fields": fields}])
    assert not result.errors, [str(error) for error in result.errors]
    return identity


def change(journal: Journal, kind: str, identity: str, **fields: Any) -> Any:
    (result,) = apply_changes(journal, [{"kind": kind, "id": identity, "fields": fields}])
    return result


@pytest.fixture
def plum(journal: Journal, set_up: SetUp) -> str:
    """A photo of the sample season, measured in a frame that was drawn on it."""
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up", bloom_colours=["#7a3fa6"])
    planting = set_up.planting("TAG-3T50A4", cultivar_id=cultivar, plants=4)
    photo_id = take_in_file(journal, packaged_folder("sample_photos") / "p1_2026-07-01.jpg").photo.id
    set_up.make("frame", planting_id=planting, photo_id=photo_id, polygon=FRAME)
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    return photo_id


def as_the_method_sees(journal: Journal, photo_id: str, points: list[list[float]]) -> str:
    job = plan_measuring(journal, photo_id)
    assert job is not None
    likeliest = class_map(journal, job)
    assert likeliest is not None
    seen = classes_at(likeliest, points, 1024, 768)
    return "".join(LETTER.get(segmentation.CLASSES[one], "o") for one in seen)


def test_who_says_what_the_method_says_agrees_wholly(journal: Journal, plum: str) -> None:
    answers = as_the_method_sees(journal, plum, points_in_frame(200))
    count(journal, plum, answers, counted_by="Ada")
    found = photo_result(journal, plum)
    assert found["answered"] == 200
    assert found["kappa"]["estimate"]["value"] == 1
    assert found["confusion"]["classes"] == ["bloom", "spent", "foliage", "other"]
    assert sum(map(sum, found["confusion"]["rows"])) == 200
    assert [row["verdict"] for row in found["rows"]] == ["within error"] * 3
    fill = found["rows"][0]
    assert fill["counted"]["value"] == pytest.approx(sum(a != "o" for a in answers) / 200)
    change = fill["measured"]["value"] - fill["counted"]["value"]
    assert fill["difference"]["value"] == pytest.approx(change)
    assert fill["difference"]["low"] < change < fill["difference"]["high"]
    assert {point["said"] for point in found["points"]} <= set("bsfo")
    assert all(LETTER.get(point["seen"], "o") == point["said"] for point in found["points"])
    assert found["method"].startswith("learned")
    assert found["counts"][0]["counted_by"] == "Ada"


def test_who_sees_no_plant_at_all_is_beyond_error(journal: Journal, plum: str) -> None:
    count(journal, plum, "o" * 100)
    found = photo_result(journal, plum)
    assert found["rows"][0]["verdict"] == "beyond error"
    assert found["rows"][1]["reason"] == "no point lies on the plant"
    assert found["rows"][1]["verdict"] is None
    assert found["rows"][1]["measured"] is not None, "what the method says is shown all the same"


def test_two_counts_of_a_photo_are_taken_together(journal: Journal, plum: str) -> None:
    count(journal, plum, "b" * 30 + "f" * 20)
    count(journal, plum, "f" * 40 + "-" * 10, counted_by="Bo")
    count(journal, plum, "s" * 50, ended=False)
    found = photo_result(journal, plum)
    assert found["tally"] == {"bloom": 30, "spent": 0, "foliage": 60, "other": 0, "unanswered": 10}
    assert found["rows"][1]["counted"]["value"] == pytest.approx(1 / 3)
    whole = agreement(journal)
    assert (whole["photos"], whole["points"], whole["unanswered"]) == (1, 90, 10)
    assert whole["counted_by"] == ["Bo"]
    assert [(one["answered"], one["points"]) for one in whole["begun"]] == [(50, 50)]
    assert whole["shares"][0]["bias"] is None
    assert "only 1 photo is counted" in whole["shares"][0]["reasons"]["bias"]
    assert whole["sentences"][0] == (
        "1 photo was checked by hand: 90 random points classed by eye; 10 more could not be told and are left out."
    )


def test_a_frame_that_was_moved_far_is_not_compared_and_one_carried_a_little_aside_is(
    journal: Journal, plum: str
) -> None:
    count(journal, plum, "f" * 50, polygon=[[x + 6, y - 4] for x, y in FRAME])
    assert photo_result(journal, plum)["rows"][0]["reason"] is None
    second = count(journal, plum, "f" * 50, polygon=[[x / 2, y] for x, y in FRAME])
    assert photo_result(journal, plum)["answered"] == 50, "the one in another frame is left out"
    first = photo_result(journal, plum)["counts"][0]["id"]
    apply_changes(journal, [{"kind": "point_count", "id": first, "delete": True}])
    found = photo_result(journal, plum)
    assert found["counts"][0]["id"] == second
    assert "drawn anew" in found["reason"]
    assert found["rows"][0]["difference"] is None
    assert found["kappa"] is not None or found["kappa_reason"], "point by point it can still be told"
    whole = agreement(journal)
    assert whole["left_out"] == [{"photo_id": plum, "reason": found["reason"]}]
    assert whole["shares"][0]["photos"] == 0


def test_what_was_painted_by_hand_is_not_taken_for_the_method(journal: Journal, set_up: SetUp, plum: str) -> None:
    count(journal, plum, as_the_method_sees(journal, plum, points_in_frame(100)))
    before = photo_result(journal, plum)
    stroke = {"class": "other", "width": 300, "points": [[200, 300], [820, 300], [820, 500], [200, 500]]}
    set_up.make("correction", photo_id=plum, strokes=[stroke], corrected_on="2026-07-02")
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    after = photo_result(journal, plum)
    assert after["kappa"]["estimate"]["value"] == 1
    assert after["rows"] == before["rows"]


def test_a_photo_without_numbers_says_why(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting()
    photo_id = photo_without_numbers(journal, planting, "2026-07-01")
    with pytest.raises(NotFound, match="No point count"):
        photo_result(journal, photo_id)
    count(journal, photo_id, "f" * 50)
    found = photo_result(journal, photo_id)
    assert found["rows"][0]["counted"]["value"] == 1
    assert found["rows"][0]["measured"] is None
    assert found["reason"] == "the photo has not been measured yet"
    assert (found["kappa"], found["kappa_reason"]) == (None, "no point was judged by both")
    assert record_id(found["photo_id"]) == photo_id


def test_only_the_photos_of_the_trial_count(journal: Journal, set_up: SetUp) -> None:
    count(journal, photo_without_numbers(journal, set_up.planting(), "2026-07-01"), "f" * 50)
    other = set_up.make("trial", title="Yard", year=2025)
    assert agreement(journal, set_up.trial_id)["photos"] == 1
    assert agreement(journal, other)["photos"] == 0
    assert agreement(journal, other)["sentences"] == [
        "No photo has been checked by a point count yet, so how far the method can be trusted here is not known."
    ]
    with pytest.raises(NotFound):
        agreement(journal, str(uuid.uuid4()))


def test_a_count_has_one_answer_a_point_and_stays_with_its_photo(journal: Journal, set_up: SetUp) -> None:
    photo_id = photo_without_numbers(journal, set_up.planting(), "2026-07-01")
    identity = count(journal, photo_id, "f" * 50, ended=False)
    refused = change(journal, "point_count", identity, answers="f" * 49)
    assert [(error.field, str(error)) for error in refused.errors] == [
        ("answers", "There are 49 answers for 50 points.")
    ]
    assert change(journal, "point_count", identity, answers="b" * 50).status == "applied"
    ahead = change(journal, "point_count", identity, counted_on="2099-01-01")
    assert "has not been yet" in str(ahead.errors[0])


def test_what_was_said_in_an_ended_count_stays(journal: Journal, plum: str) -> None:
    open_one = count(journal, plum, "bsfo" * 5, ended=False)
    assert not change(journal, "point_count", open_one, answers="ffff" * 5).errors
    fewer = {"answers": "ffff" * 4, "points": points_in_frame(16)}
    assert not change(journal, "point_count", open_one, ended=True, **fewer).errors
    for edit in ({"answers": "bbbb" * 4}, {"ended": False}, {"points": points_in_frame(16, seed=2)}, {"seed": 7}):
        refused = change(journal, "point_count", open_one, **edit)
        assert refused.status == "refused"
        assert "stays as it is" in str(refused.errors[0])
    assert not change(journal, "point_count", open_one, counted_by="Kit", answers="ffff" * 4).errors
    assert photo_result(journal, plum)["answered"] == 16
