"""A correction by hand is a new measurement beside the old one, and going back takes the old one up again."""

from __future__ import annotations

from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient

from journal_server.packaged import packaged_folder
from journal_server.services import measuring_inputs, method_change
from journal_server.services.apply_changes import apply_changes
from journal_server.services.class_maps import class_map
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.measuring_inputs import MeasureJob, plan_measuring
from journal_server.services.numbers_out import csv_text_of_photos, load_numbers
from journal_server.services.photo_history import photo_history
from journal_server.services.season import load_season
from journal_server.services.take_in_photo import take_in_file
from journal_server.storage.records import load_record

SAMPLE = packaged_folder("sample_photos")
PLUM = "TAG-3T50A4"
FRAME = [[100, 200], [900, 200], [900, 600], [100, 600]]
ALL_LEAVES = [{"class": "foliage", "width": 3000, "points": [[500, 400]]}]
ALL_BLOOM = [{"class": "bloom", "width": 3000, "points": [[500, 400]]}]


def measure_all(journal: Journal) -> None:
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()


def job_of(journal: Journal, photo_id: str) -> MeasureJob:
    job = plan_measuring(journal, photo_id)
    assert job is not None
    return job


def state_of(journal: Journal, photo_id: str) -> str:
    with journal.database.reading() as session:
        record = load_record(session, photo_id)
    assert record is not None
    return str(record.fields["measuring"])


@pytest.fixture
def photo(journal: Journal, set_up: SetUp) -> tuple[str, str]:
    """One planting with one framed and measured photo; returns their ids."""
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up", bloom_colours=["#7a3fa6"])
    planting = set_up.planting(PLUM, cultivar_id=cultivar, plants=4)
    photo = take_in_file(journal, SAMPLE / "p1_2026-07-01.jpg").photo.id
    set_up.make("frame", planting_id=planting, photo_id=photo, polygon=FRAME)
    measure_all(journal)
    return planting, photo


def corrected(set_up: SetUp, photo_id: str, strokes: list[dict[str, Any]], **more: Any) -> str:
    fields = {"photo_id": photo_id, "strokes": strokes, "corrected_by": "Ada", "corrected_on": "2026-07-02"}
    return set_up.make("correction", **(fields | more))


def test_a_correction_is_measured_beside_the_old_and_taking_it_back_takes_the_old_up_again(
    journal: Journal, set_up: SetUp, photo: tuple[str, str]
) -> None:
    planting_id, photo_id = photo
    (before,) = photo_history(journal, photo_id)
    correction_id = corrected(set_up, photo_id, ALL_LEAVES, note="The flowers are the neighbour's.")
    assert state_of(journal, photo_id) == "waiting"
    measure_all(journal)
    newest, old = photo_history(journal, photo_id)
    assert old == before | {"current": False}, "the old row is as it was"
    assert newest["current"]
    assert newest["numbers"]["bloom_cover"]["value"] == 0
    assert newest["numbers"]["canopy_fill"]["value"] == pytest.approx(1, abs=1e-5)
    assert newest["method"] == f"{before['method']}, corrected by hand"
    assert newest["by_hand"] == {
        "id": correction_id,
        "by": "Ada",
        "on": "2026-07-02",
        "note": "The flowers are the neighbour's.",
        "strokes": 1,
        "painted_share": pytest.approx(1, abs=1e-5),
        "uncorrected_inputs_hash": before["inputs_hash"],
    }
    (point,) = load_season(journal, planting_id).season.points
    assert point.bloom_cover is not None
    assert point.bloom_cover.value == 0, "the season takes it like any other"
    assert "corrected by hand" in csv_text_of_photos(load_numbers(journal))

    apply_changes(journal, [{"kind": "correction", "id": correction_id, "delete": True}])
    measure_all(journal)
    back, undone = photo_history(journal, photo_id)
    assert (back["id"], back["numbers"], back["current"]) == (before["id"], before["numbers"], True)
    assert undone["id"] == newest["id"]
    assert "corrected by hand" not in csv_text_of_photos(load_numbers(journal))

    apply_changes(journal, [{"kind": "correction", "id": correction_id, "restore": True}])
    measure_all(journal)
    assert [row["id"] for row in photo_history(journal, photo_id)] == [newest["id"], before["id"]]


def test_the_newest_of_two_corrections_counts(journal: Journal, set_up: SetUp, photo: tuple[str, str]) -> None:
    _, photo_id = photo
    corrected(set_up, photo_id, ALL_LEAVES)
    second = corrected(set_up, photo_id, ALL_BLOOM)
    measure_all(journal)
    assert photo_history(journal, photo_id)[0]["numbers"]["bloom_cover"]["value"] == 1
    apply_changes(journal, [{"kind": "correction", "id": second, "delete": True}])
    measure_all(journal)
    assert photo_history(journal, photo_id)[0]["numbers"]["bloom_cover"]["value"] == 0


def test_other_photos_keep_their_numbers_and_their_hashes(
    journal: Journal, set_up: SetUp, photo: tuple[str, str]
) -> None:
    _, photo_id = photo
    other = take_in_file(journal, SAMPLE / "p1_2026-07-14.jpg").photo.id
    measure_all(journal)
    before = job_of(journal, other)
    corrected(set_up, photo_id, ALL_LEAVES)
    assert state_of(journal, other) == "done"
    assert job_of(journal, other).inputs_hash == before.inputs_hash
    assert job_of(journal, photo_id).uncorrected.inputs_hash == photo_history(journal, photo_id)[0]["inputs_hash"]


def test_a_new_method_measures_anew_with_the_correction_kept(
    journal: Journal, set_up: SetUp, photo: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, photo_id = photo
    corrected(set_up, photo_id, ALL_LEAVES)
    measure_all(journal)
    assert method_change.ask_anew_after_update(journal) == 0, "corrected by hand is no other version of the method"
    for module in (measuring_inputs, method_change):
        monkeypatch.setattr(module, "METHOD", "learned 9, measure 9")
    monkeypatch.setattr(MeasureJob, "__init__", _with_method(MeasureJob.__init__, "learned 9, measure 9"))
    assert method_change.ask_anew_after_update(journal) == 1
    job = job_of(journal, photo_id)
    assert job.method == "learned 9, measure 9"
    assert job.correction is not None
    measure_all(journal)
    newest, *older = photo_history(journal, photo_id)
    assert newest["by_hand"]["by"] == "Ada"
    assert newest["numbers"]["bloom_cover"]["value"] == 0
    assert len(older) == 2
    change = method_change.describe_method_change(journal)
    assert change["photos"] == 1, "held against the correction by the version before, not against the automatic one"


def _with_method(begin: Any, method: str) -> Any:
    def made(self: MeasureJob, *given: Any, **named: Any) -> None:
        begin(self, *given, **({"method": method} | named))

    return made


def test_the_frame_moved_on_the_photo_itself_is_a_new_measurement_too_and_marked(
    journal: Journal, set_up: SetUp, photo: tuple[str, str]
) -> None:
    planting_id, _ = photo
    other = take_in_file(journal, SAMPLE / "p1_2026-07-14.jpg").photo.id
    measure_all(journal)
    (carried,) = photo_history(journal, other)
    assert carried["frame_how"] != "drawn on this photo"
    corrected(set_up, other, ALL_LEAVES)
    set_up.make("frame", planting_id=planting_id, photo_id=other, polygon=[[150, 250], [800, 250], [800, 600]])
    measure_all(journal)
    moved, old = photo_history(journal, other)
    assert moved["frame_how"] == "drawn on this photo"
    assert moved["by_hand"], "the correction stays"
    assert old == carried | {"current": False}


def test_the_pictures_of_both_are_kept(
    journal: Journal, set_up: SetUp, client: FlaskClient, photo: tuple[str, str]
) -> None:
    _, photo_id = photo
    address = f"/api/photos/{photo_id}/classes"
    with client.get(address) as answer:
        plain = answer.data
    corrected(set_up, photo_id, ALL_LEAVES)
    measure_all(journal)
    told = client.get(f"/api/photos/{photo_id}/measurements").get_json()
    assert told["photo_id"] == photo_id
    newest = told["measurements"][0]
    with client.get(address) as now, client.get(f"{address}?of={newest['inputs_hash']}") as by_hash:
        assert now.data == by_hash.data != plain
        assert now.headers["Cache-Control"] == "no-cache"
        assert "immutable" in by_hash.headers["Cache-Control"]
    with client.get(f"{address}?of={newest['by_hand']['uncorrected_inputs_hash']}") as uncorrected:
        assert uncorrected.data == plain
    seen = class_map(journal, job_of(journal, photo_id))
    assert seen is not None
    assert len(set(seen.ravel().tolist())) > 2, "counts are held against the method, not against what was painted"


@pytest.mark.parametrize("of", ["", "../../etc/passwd", "f" * 63, "F" * 64, "f" * 64 + "0"])
def test_the_picture_of_a_measurement_is_asked_for_by_its_hash_alone(
    client: FlaskClient, photo: tuple[str, str], of: str
) -> None:
    answer = client.get(f"/api/photos/{photo[1]}/classes", query_string={"of": of})
    assert answer.status_code == 422
    assert answer.get_json()["error"]["field"] == "of"
    assert client.get(f"/api/photos/{photo[1]}/classes?of={'0' * 64}").status_code == 404


def test_a_correction_needs_its_photo(set_up: SetUp, photo: tuple[str, str]) -> None:
    strange = "0f0f0f0f-0f0f-4f0f-8f0f-0f0f0f0f0f0f"
    fields = {"photo_id": strange, "strokes": ALL_LEAVES, "corrected_on": "2026-07-02"}
    (result,) = apply_changes(set_up.journal, [{"kind": "correction", "id": strange, "fields": fields}])
    assert [error.field for error in result.errors] == ["photo_id"]
