"""Dates as people read them: the same order in every sentence, figure and screen."""

from __future__ import annotations

from datetime import date

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def day_words(day: date) -> str:
    """'22 August', where the year is plain from what stands around it."""
    return f"{day.day} {MONTHS[day.month - 1]}"


def full_day_words(day: date) -> str:
    """'22 August 2026'."""
    return f"{day_words(day)} {day.year}"


def span_words(first: date, last: date) -> str:
    """'22 May to 22 August 2026'; one day alone where they are the same."""
    if first == last:
        return full_day_words(first)
    return f"{day_words(first) if first.year == last.year else full_day_words(first)} to {full_day_words(last)}"
