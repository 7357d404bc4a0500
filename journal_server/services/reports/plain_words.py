"""How reports say things: counts, lists, days, a verdict's answers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.series import weeks_after_planting
from journal_server.domain import dates
from journal_server.domain.words import counted
from journal_server.figures.words import quotable_interval, quotable_words

GROW_AGAIN = {
    "yes": "Would grow it again.",
    "no": "Would not grow it again.",
    "again elsewhere": "Would grow it again, but elsewhere.",
    "undecided": "Undecided whether to grow it again.",
}
NO_VERDICT = "No verdict has been written yet."
NOT_ANSWERED = "Whether it would be grown again is not said."


def times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def sentence(words: str) -> str:
    """With a capital at its beginning and a full stop at its end."""
    said = words.strip()
    return said[:1].upper() + said[1:] + ("" if said[-1:] in ".!?…" else ".") if said else ""


def weeks_words(planted_on: date, day: date) -> str:
    """'8 weeks after planting'; before planting and in the first days in days."""
    days = (day - planted_on).days
    if days < 0:
        return f"{counted(-days, 'day')} before planting"
    if days < 7:
        return f"{counted(days, 'day')} after planting" if days else "on the day of planting"
    return f"{counted(round(weeks_after_planting(planted_on, day)), 'week')} after planting"


def span_words(days: Sequence[date]) -> str:
    """'on 3 July 2026', or 'from 16 May to 3 July 2026'."""
    first, last = min(days), max(days)
    return f"{'on' if first == last else 'from'} {dates.span_words(first, last)}"


def value_words(number: QuotableNumber) -> str:
    """Value with interval, or that it is not known."""
    return quotable_words(number) if number.estimate else "not known"


def beside_words(number: QuotableNumber) -> str:
    """What stands under a large number: its interval and its day, or why it is not known."""
    if number.estimate is None:
        return sentence(number.reason or "not measured")
    interval = quotable_interval(number)
    parts = [f"90 % interval {interval}" if interval else "counted"]
    if number.on and number.key in ("peak", "canopy_fill_latest", "fade_most", "spent_most", "evenness_latest"):
        parts.append(f"on {number.on.day}\u00a0{dates.MONTHS[number.on.month - 1]}")
    return ", ".join(parts)
