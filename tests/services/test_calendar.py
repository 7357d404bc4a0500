"""The care calendar, read by an independent parser (the icalendar package), and the keys of its addresses."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from conftest import SetUp
from icalendar import Calendar

from journal_server.errors import InputRefused, NotFound, NotPaired
from journal_server.services.calendar import care_calendar
from journal_server.services.journal import Journal
from journal_server.services.keyed_addresses import (
    CALENDAR,
    REPORT,
    NewAddress,
    addresses,
    close_address,
    make_address,
    opened_by,
)

NOW = datetime(2026, 6, 10, 8, tzinfo=UTC)


def events(set_up: SetUp, now: datetime = NOW) -> list[tuple[date, str, str]]:
    calendar = Calendar.from_ical(care_calendar(set_up.journal, set_up.trial_id, now).encode())
    assert calendar.errors == []
    found = [(e["DTSTART"].dt, str(e["SUMMARY"]), str(e["UID"])) for e in calendar.walk("VEVENT")]
    assert all(e["DTSTART"].params["VALUE"] == "DATE" for e in calendar.walk("VEVENT"))
    assert len({uid for _, _, uid in found}) == len(found)
    return found


def fed(set_up: SetUp, day: str, planting: str | None = None) -> None:
    set_up.make("care", trial_id=set_up.trial_id, planting_id=planting, done_on=day, action="fed")


def test_what_is_due_and_what_comes_next_by_plan_and_day(set_up: SetUp) -> None:
    set_up.planting()
    set_up.planting()
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=28, product="Made-up feed")
    fed(set_up, "2026-05-20")
    assert [(day, words) for day, words, _ in events(set_up)] == [
        (date(2026, 6, 17), "Feed (Made-up feed): 2 plantings"),
        (date(2026, 7, 15), "Feed (Made-up feed): 2 plantings"),
    ]


def test_what_is_overdue_stands_on_today_and_stays_the_same_event(set_up: SetUp) -> None:
    set_up.planting()
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7)
    fed(set_up, "2026-06-01")
    day, words, uid = events(set_up)[0]
    assert (day, words) == (date(2026, 6, 10), "Feed: Trough 1, Made Up 1 (overdue)")
    later_day, _, later_uid = events(set_up, NOW + timedelta(days=1))[0]
    assert (later_day, later_uid) == (date(2026, 6, 11), uid)
    fed(set_up, "2026-06-10")
    assert uid not in [uid for _, _, uid in events(set_up)]


def test_today_is_the_gardens_day(set_up: SetUp) -> None:
    set_up.planting()
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7, begins_on="2026-06-01")
    late_in_the_evening = datetime(2026, 6, 10, 22, 30, tzinfo=UTC)
    assert events(set_up, late_in_the_evening)[0][0] == date(2026, 6, 11)


def test_removed_plantings_want_no_care(set_up: SetUp) -> None:
    planting = set_up.planting()
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7)
    set_up.edit("planting", planting, removed_on="2026-06-01")
    assert events(set_up) == []


def make_calendar_address(journal: Journal, trial_id: object, name: object) -> NewAddress:
    with journal.database.writing() as session:
        return make_address(session, CALENDAR, name, trial_id, NOW)


@pytest.mark.sqlite_only
def test_a_key_opens_its_trial_until_it_is_closed_and_is_not_kept(journal: Journal, set_up: SetUp) -> None:
    made = make_calendar_address(journal, set_up.trial_id, "Kitchen tablet")
    assert opened_by(journal, CALENDAR, made.key, "here", NOW).trial_id == set_up.trial_id
    (listed,) = addresses(journal, CALENDAR)
    assert (listed.name, listed.last_used_at is not None) == ("Kitchen tablet", True)
    assert made.key.encode() not in (journal.folder / "journal.sqlite3").read_bytes()
    with pytest.raises(NotPaired, match="not open"):
        opened_by(journal, REPORT, made.key, "here", NOW)
    with pytest.raises(NotFound):
        close_address(journal, REPORT, made.kept.id, NOW)
    close_address(journal, CALENDAR, made.kept.id, NOW)
    for key in (made.key, made.key[:-1], "", "x" * 10_000):
        with pytest.raises(NotPaired, match="not open"):
            opened_by(journal, CALENDAR, key, "here", NOW)


def test_keys_are_made_for_a_trial_and_with_a_name(journal: Journal, set_up: SetUp) -> None:
    with pytest.raises(NotFound):
        make_calendar_address(journal, "nowhere", "Phone")
    for trial, name, field in ((None, "Phone", "trial_id"), (set_up.trial_id, " ", "name")):
        with pytest.raises(InputRefused) as refused:
            make_calendar_address(journal, trial, name)
        assert refused.value.field == field
    with pytest.raises(NotFound):
        close_address(journal, CALENDAR, "nothing", NOW)
