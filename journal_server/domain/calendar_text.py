"""All-day events as the text of a calendar file (iCalendar, RFC 5545). Pure: the moment of writing comes in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

MOST_OCTETS = 75
"""Of one line, its end not counted (RFC 5545, section 3.1)."""


@dataclass(frozen=True)
class AllDayEvent:
    """``uid`` stays the same as long as it is the same event, whatever becomes of its words or its day."""

    uid: str
    day: date
    summary: str
    description: str = ""


def calendar_text(name: str, events: Iterable[AllDayEvent], written_at: datetime, made_by: str) -> str:
    """The calendar file: lines folded, text escaped, days as days without an hour or a zone."""
    stamp = written_at.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{_escaped(made_by)}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"X-WR-CALNAME:{_escaped(name)}",
        *(line for event in events for line in _event(event, stamp)),
        "END:VCALENDAR",
    ]
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _event(event: AllDayEvent, stamp: str) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{_escaped(event.uid)}"
    yield f"DTSTAMP:{stamp}"
    yield f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{_escaped(event.summary)}"
    if event.description:
        yield f"DESCRIPTION:{_escaped(event.description)}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _escaped(text: str) -> str:
    r"""Backslash, semicolon and comma behind a backslash, a new line as \n; other control characters left out."""
    one_kind_of_line = re.sub(r"\r\n?", "\n", text)
    escaped = re.sub(r"([\\;,])", r"\\\1", one_kind_of_line).replace("\n", r"\n")
    return re.sub(r"[\x00-\x08\x0b-\x1f\x7f]", "", escaped)


def _folded(line: str) -> Iterator[str]:
    """Pieces of at most 75 octets, each after the first begun by a space; no character is cut in two."""
    piece, size = "", 0
    for character in line:
        octets = len(character.encode("utf-8"))
        if size + octets > MOST_OCTETS:
            yield piece
            piece, size = " ", 1
        piece += character
        size += octets
    yield piece
