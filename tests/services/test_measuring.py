import subprocess
import sys
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest
from conftest import SetUp, data_options
from feed_as_read import load_changes
from made_photos import jpeg
from worker_targets import crash_on_marked, hang_on_marked, killed_on_marked, out_of_memory_on_marked

from journal_server.packaged import packaged_folder
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch
from journal_server.services.measure_again import measure_again
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.measuring_inputs import plan_measuring
from journal_server.services.season import load_season
from journal_server.services.take_in_photo import take_in_file, take_in_photo
from journal_server.storage.records import current_measurements, load_record, load_records, save_record

SAMPLE = packaged_folder("sample_photos")
PLUM = "TAG-3T50A4"


def measure_all(journal: Journal) -> None:
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()


def photo_fields(journal: Journal, photo_id: str) -> dict[str, Any]:
    with journal.database.reading() as session:
        record = load_record(session, photo_id)
    assert record is not None
    return record.fields


def measurement_of(journal: Journal, photo_id: str) -> dict[str, Any]:
    with journal.database.reading() as session:
        found: dict[str, Any] = current_measurements(session, [photo_id])[photo_id]["fields"]
    return found


def all_measurements(journal: Journal) -> list[dict[str, Any]]:
    with journal.database.reading() as session:
        items, _, _ = load_changes(session, 0, 10_000)
    return [item for item in items if item["kind"] == "measurement"]


@pytest.fixture
def plum(journal: Journal, set_up: SetUp) -> tuple[str, str]:
    """One planting with one photo of the sample season; returns their ids."""
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up", bloom_colours=["#7a3fa6"])
    planting = set_up.planting(PLUM, cultivar_id=cultivar, plants=4)
    return planting, take_in_file(journal, SAMPLE / "p1_2026-07-01.jpg").photo.id


def test_a_photo_is_measured_with_its_plantings_frame_and_colours(journal: Journal, set_up: SetUp, plum: Any) -> None:
    planting, photo = plum
    set_up.make("frame", planting_id=planting, photo_id=photo, polygon=[[100, 200], [900, 200], [900, 600], [100, 600]])
    measure_all(journal)
    found = measurement_of(journal, photo)
    assert photo_fields(journal, photo)["measuring"] == "done"
    assert found["frame_how"] == "drawn on this photo"
    assert len(found["numbers"]["slots"]) == 4
    assert found["numbers"]["tag"] == PLUM
    job = plan_measuring(journal, photo)
    assert job is not None
    assert journal.files.derived_file(job.sha256, job.overlay_name).read_bytes().startswith(b"RIFF")


def test_a_changed_frame_measures_anew_and_keeps_the_old(journal: Journal, set_up: SetUp, plum: Any) -> None:
    planting, photo = plum
    measure_all(journal)
    before = measurement_of(journal, photo)
    assert before["frame_polygon"] is None
    set_up.make("frame", planting_id=planting, photo_id=photo, polygon=[[100, 200], [900, 200], [900, 600], [100, 600]])
    assert photo_fields(journal, photo)["measuring"] == "waiting"
    measure_all(journal)
    assert measurement_of(journal, photo)["inputs_hash"] != before["inputs_hash"]
    assert len(all_measurements(journal)) == 2


def test_measurements_follow_a_changed_match_and_come_back_unchanged(
    journal: Journal, set_up: SetUp, plum: Any
) -> None:
    planting, photo = plum
    measure_all(journal)
    before = measurement_of(journal, photo)
    other = set_up.planting("TAG-0V4CAR", plants=2)
    set_up.edit("photo", photo, planting_id=other)
    assert load_season(journal, other).season.points == (), "numbers of another planting's frame do not count"
    measure_all(journal)
    assert len(load_season(journal, other).season.points) == 1
    assert measurement_of(journal, photo)["planting_id"] == other
    set_up.edit("photo", photo, planting_id=planting)
    measure_all(journal)
    after = measurement_of(journal, photo)
    assert (after["inputs_hash"], after["numbers"]) == (before["inputs_hash"], before["numbers"])
    assert len(all_measurements(journal)) == 2, "measured twice, not three times: the first is taken up again"


@pytest.mark.parametrize(
    ("name", "target", "longest_s", "words"),
    [
        ("crash.jpg", crash_on_marked, 60.0, "ended unexpectedly (exit code 139)"),
        ("hang.jpg", hang_on_marked, 15.0, "took over"),
        ("killed.jpg", killed_on_marked, 60.0, "memory ran out"),
        ("memory.jpg", out_of_memory_on_marked, 60.0, "not enough memory"),
    ],
)
def test_one_bad_photo_does_not_stop_the_rest(
    journal: Journal, name: str, target: Callable[[Connection], None], longest_s: float, words: str
) -> None:
    bad = take_in_photo(journal, jpeg("2026:06:12 10:14:03"), name).photo.id
    good = take_in_photo(journal, jpeg("2026:06:12 10:15:03", seed=1), "good.jpg").photo.id
    MeasuringRoom(journal, [WorkerProcess(target, longest_s)]).run_until_done()
    assert photo_fields(journal, bad)["measuring"] == "failed"
    assert words in photo_fields(journal, bad)["measuring_note"]
    assert photo_fields(journal, good)["measuring"] == "done"


def test_where_memory_runs_out_the_system_ends_the_measuring_first(plum: Any, journal: Journal) -> None:
    """It reads this number; the server's own is 0 (Linux)."""
    worker = WorkerProcess()
    job = plan_measuring(journal, plum[1])
    assert job is not None
    assert worker.measure(job).failure is None
    assert Path(f"/proc/{worker.pid}/oom_score_adj").read_text().strip() == "900"
    worker.stop()


def test_a_missing_original_is_a_failure_with_a_reason(journal: Journal, plum: Any) -> None:
    _, photo = plum
    job = plan_measuring(journal, photo)
    assert job is not None
    Path(job.path).unlink()
    measure_all(journal)
    assert photo_fields(journal, photo)["measuring"] == "failed"
    assert "no such file" in photo_fields(journal, photo)["measuring_note"]


def test_what_failed_is_measured_again_when_asked(journal: Journal, plum: Any) -> None:
    _, photo = plum
    job = plan_measuring(journal, photo)
    assert job is not None
    kept = Path(job.path).read_bytes()
    Path(job.path).unlink()
    measure_all(journal)
    journal.files.keep_original(job.sha256, ".jpg", kept)
    assert measure_again(journal, ["of no such photo"]) == 0
    assert measure_again(journal, None) == 1
    measure_all(journal)
    assert (photo_fields(journal, photo)["measuring"], photo_fields(journal, photo)["measuring_note"]) == ("done", None)
    assert measure_again(journal, [photo]) == 0, "what is measured is left alone"


def test_measuring_goes_on_after_the_server_was_killed(journal: Journal) -> None:
    """kill -9 in the middle: what was measured stays, the rest follows, nothing is doubled."""
    photos = [take_in_photo(journal, jpeg(f"2026:06:12 10:1{i}:03", seed=i), f"{i}.jpg").photo.id for i in range(6)]
    call = [sys.executable, "-m", "journal_server", "serve", "--no-browser", "--port", "0"]
    server = subprocess.Popen([*call, *data_options(journal)], stdout=subprocess.DEVNULL)
    deadline = time.monotonic() + 60
    while not all_measurements(journal) and time.monotonic() < deadline:
        time.sleep(0.05)
    server.kill()
    server.wait()
    before = all_measurements(journal)
    assert 1 <= len(before) < len(photos)
    measure_all(journal)
    after = all_measurements(journal)
    assert sorted(m["fields"]["photo_id"] for m in after) == sorted(photos)
    assert [m for m in after if m in before] == before


def test_a_card_that_only_the_longer_search_finds_is_matched(journal: Journal, set_up: SetUp) -> None:
    """Measuring enlarges and sharpens; a card found then decides the match like any other."""
    planting = set_up.planting("TAG-3T50A4")
    photo = take_in_file(journal, SAMPLE / "p1_2026-07-01.jpg").photo.id
    blind = {"tag": None, "tags": [], "card_corners": None}
    with journal.database.writing() as session:
        save_record(session, "photo", photo, blind)
        rematch(session, None)
    assert photo_fields(journal, photo)["planting_id"] is None
    measure_all(journal)
    assert (photo_fields(journal, photo)["match"], photo_fields(journal, photo)["planting_id"]) == ("matched", planting)
    with journal.database.reading() as session:
        assert [p.fields["measuring"] for p in load_records(session, "photo")] == ["done"]
