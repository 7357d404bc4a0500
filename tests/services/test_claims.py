"""Several measuring rooms on one database: every photo is measured once, and those of a dead process are taken up."""

import contextlib
import subprocess
import sys
import threading
import time
import uuid
from collections import Counter
from pathlib import Path

import pytest
from conftest import data_options
from made_photos import jpeg

from journal_server.services.journal import Journal, open_journal
from journal_server.services.measuring import MeasuringRoom
from journal_server.services.measuring_inputs import MeasureJob, MeasureOutcome
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage import claims
from journal_server.storage.claims import LEASE_S, claim_next, give_up, renew
from journal_server.storage.records import all_measurements, load_records


class Counting:
    """Measures nothing, and counts who asked for what."""

    def __init__(self, takes_s: float = 0.0) -> None:
        self.asked: list[str] = []
        self.takes_s = takes_s

    def measure(self, job: MeasureJob) -> MeasureOutcome:
        self.asked.append(job.photo_id)
        time.sleep(self.takes_s)
        return MeasureOutcome(numbers={"tag": None}, overlay=b"overlay", classes=b"classes")

    def stop(self) -> None:
        pass


def take_in(journal: Journal, count: int) -> list[str]:
    return [
        take_in_photo(journal, jpeg(f"2026:06:12 10:{i:02}:03", seed=i, size=(64, 48)), f"{i}.jpg").photo.id
        for i in range(count)
    ]


def claim(journal: Journal) -> tuple[str | None, str]:
    token = str(uuid.uuid4())
    with journal.database.claiming() as session:
        return claim_next(session, token), token


def test_two_rooms_measure_every_photo_exactly_once(journal: Journal) -> None:
    photos = take_in(journal, 24)
    with contextlib.closing(open_journal(journal.folder, journal.database.url)) as second:
        workers = [Counting() for _ in range(6)]
        rooms = [MeasuringRoom(journal, workers[:3]), MeasuringRoom(second, workers[3:])]
        runs = [threading.Thread(target=room.run_until_done) for room in rooms]
        for run in runs:
            run.start()
        for run in runs:
            run.join()
    assert Counter(photo for worker in workers for photo in worker.asked) == Counter(photos)
    with journal.database.reading() as session:
        assert sorted(m["fields"]["photo_id"] for m in all_measurements(session)) == sorted(photos)
    assert claim(journal)[0] is None


def test_a_claim_is_held_until_it_runs_out(journal: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    (photo,) = take_in(journal, 1)
    first, token = claim(journal)
    assert (first, claim(journal)[0]) == (photo, None)
    now_s = claims._now_s
    monkeypatch.setattr(claims, "_now_s", lambda session: now_s(session) + LEASE_S - 5)
    with journal.database.claiming() as session:
        renew(session, [token])
    monkeypatch.setattr(claims, "_now_s", lambda session: now_s(session) + LEASE_S + 5)
    assert claim(journal)[0] is None, "it was renewed"
    monkeypatch.setattr(claims, "_now_s", lambda session: now_s(session) + 2 * LEASE_S + 5)
    taken_up, later = claim(journal)
    assert taken_up == photo
    with journal.database.claiming() as session:
        assert [give_up(session, photo, one) for one in (token, later)] == [False, True]


def test_a_claim_from_a_clock_that_was_set_back_holds_no_one_up(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    (photo,) = take_in(journal, 1)
    with monkeypatch.context() as ahead:
        ahead.setattr(claims, "_now_s", lambda session: time.time() + 1e8)
        assert claim(journal)[0] == photo
    assert claim(journal)[0] == photo


def test_what_was_held_up_for_too_long_is_not_stored(journal: Journal) -> None:
    (photo,) = take_in(journal, 1)

    class TakenOver(Counting):
        def measure(self, job: MeasureJob) -> MeasureOutcome:
            with journal.database.claiming() as session:
                give_up(session, photo, next(iter(room._claims)))
            assert claim(journal)[0] == photo
            room.stop_soon()
            return super().measure(job)

    class Room(MeasuringRoom):
        def stop_soon(self) -> None:
            threading.Timer(0.5, self.stop).start()

    room = Room(journal, [TakenOver()])
    room.start()
    for thread in room._threads:
        thread.join(timeout=20)
    with journal.database.reading() as session:
        assert all_measurements(session) == []
        assert [p.fields["measuring"] for p in load_records(session, "photo")] == ["waiting"]


def test_the_photos_of_a_killed_process_are_taken_up(journal: Journal, tmp_path: Path) -> None:
    photos = take_in(journal, 3)
    code = (
        "import sys, time; from pathlib import Path; from test_claims import Counting;"
        "from journal_server.services.journal import open_journal;"
        "from journal_server.services.measuring import MeasuringRoom;"
        "room = MeasuringRoom(open_journal(Path(sys.argv[1]), sys.argv[2]), [Counting(600)]);"
        "room.start(); time.sleep(600)"
    )
    folders = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]
    paths = f"import sys; sys.path += {folders!r}; "
    options = data_options(journal)
    other = subprocess.Popen([sys.executable, "-c", paths + code, options[1], options[3]])
    try:
        held = _wait_for_a_claim(journal)
    finally:
        other.kill()
        other.wait()
    worker = Counting()
    began = time.monotonic()
    MeasuringRoom(journal, [worker]).run_until_done()
    assert worker.asked == [photo for photo in photos if photo != held] + [held]
    assert time.monotonic() - began < LEASE_S + 15


def _wait_for_a_claim(journal: Journal) -> str:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        with journal.database.reading() as session:
            held = session.query(claims.ClaimRow.photo_id).first()
        if held:
            return str(held[0])
        time.sleep(0.1)
    raise AssertionError("the other process claimed nothing")
