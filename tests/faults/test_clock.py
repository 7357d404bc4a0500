"""The clock of the computer is set back: what comes later is later all the same, and the check says what is odd."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from conftest import SetUp
from feed_as_read import load_changes
from made_photos import jpeg

from journal_server.app import create_app
from journal_server.services import measuring, take_in_photo
from journal_server.services.check.run import check_journal
from journal_server.services.journal import Journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess


def clock_at(moment: datetime) -> type[datetime]:
    class Clock(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> datetime:
            return moment.astimezone(tz)

    return Clock


def test_what_comes_in_after_it_is_later_and_measured(
    journal: Journal, set_up: SetUp, monkeypatch: pytest.MonkeyPatch
) -> None:
    planting = set_up.planting("TAG-7K3Q9M")
    now = datetime.now(UTC)
    first = take_in_photo.take_in_photo(journal, jpeg("2026:06:12 10:14:03", codes=("TAG-7K3Q9M",)), "first.jpg").photo
    early = clock_at(datetime(1998, 1, 1, tzinfo=UTC))
    monkeypatch.setattr(take_in_photo, "datetime", early)
    monkeypatch.setattr(measuring, "datetime", early)
    second = take_in_photo.take_in_photo(
        journal, jpeg("2026:06:26 10:14:03", seed=1, codes=("TAG-7K3Q9M",)), "second.jpg"
    ).photo
    assert second.seq > first.seq
    assert second.fields["taken_in_at"].startswith("1998")
    assert second.fields["planting_id"] == planting, "matched by the photo's own moment"
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()
    with journal.database.reading() as session:
        feed, _, _ = load_changes(session, 0, 1000)
    assert len([item for item in feed if item["kind"] == "measurement"]) == 2
    assert [item["seq"] for item in feed] == sorted(item["seq"] for item in feed)
    assert create_app(journal).test_client().get(f"/api/plantings/{planting}/summary").status_code == 200
    assert check_journal(journal.folder, now + timedelta(minutes=5)).wrong == 0
    (note,) = (f for f in check_journal(journal.folder, now - timedelta(days=300)).findings if f.part == "clock")
    assert "Set the clock" in note.mend
