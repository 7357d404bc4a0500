"""The calendar text, read back by an independent parser (the icalendar package)."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from journal_server.domain.calendar_text import AllDayEvent, calendar_text

NOW = datetime(2026, 6, 12, 8, 30, tzinfo=UTC)


def read_back(text: str) -> list[dict[str, object]]:
    calendar = Calendar.from_ical(text.encode())
    assert calendar.errors == []
    return [
        {
            "uid": str(event["UID"]),
            "day": event["DTSTART"].dt,
            "end": event["DTEND"].dt,
            "summary": str(event["SUMMARY"]),
            "description": str(event.get("DESCRIPTION", "")),
            "stamp": event["DTSTAMP"].dt,
            "errors": event.errors,
        }
        for event in calendar.walk("VEVENT")
    ]


def test_an_event_comes_back_as_a_whole_day() -> None:
    event = AllDayEvent("1b", date(2026, 12, 31), "Feed; water, then\nlook: ‘Plum’ \\ 🌼", "ü" * 200)
    text = calendar_text("Care", [event], NOW, "-//Test//EN")
    (back,) = read_back(text)
    assert back == {
        "uid": "1b", "day": date(2026, 12, 31), "end": date(2027, 1, 1), "summary": event.summary,
        "description": event.description, "stamp": NOW, "errors": [],
    }  # fmt: skip
    assert "DTSTART;VALUE=DATE:20261231\r\n" in text


def test_a_calendar_without_events_is_a_calendar() -> None:
    text = calendar_text("Care", [], NOW, "-//Test//EN")
    assert read_back(text) == []
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Test//EN\r\n")
    assert text.endswith("END:VCALENDAR\r\n")


words = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Zl", "Zp")) | st.sampled_from('\n,;\\:"'), max_size=300
)


@pytest.mark.filterwarnings("ignore::hypothesis.errors.NonInteractiveExampleWarning")
@given(words, words)
def test_any_words_come_back_and_no_line_is_too_long(summary: str, description: str) -> None:
    text = calendar_text("Care", [AllDayEvent("1", date(2026, 6, 12), summary, description)], NOW, "-//Test//EN")
    assert all(len(line) <= 75 for line in text.encode().split(b"\r\n"))
    assert "\n" not in text.replace("\r\n", "")
    (back,) = read_back(text)
    assert (back["summary"], back["description"]) == (summary, description)
