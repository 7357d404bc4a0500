"""Days as files and people write them, in one form: a date. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from journal_server.domain.dates import MONTHS
from journal_server.domain.field_checks import shown
from journal_server.errors import InputRefused

DAY_FIRST, MONTH_FIRST = "day first", "month first"
DATE_ORDERS = (DAY_FIRST, MONTH_FIRST)

_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_RUN_TOGETHER = re.compile(r"(\d{4})(\d{2})(\d{2})")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/.] ?(\d{1,2})[-/.] ?(\d{4}|\d{2})")
_MONTH_IN_WORDS = (
    re.compile(r"(?P<day>\d{1,2})[.\s-]+(?P<month>[A-Za-z]{3,9})\.?[,\s-]+(?P<year>\d{4})"),
    re.compile(r"(?P<month>[A-Za-z]{3,9})\.?\s+(?P<day>\d{1,2}),?\s+(?P<year>\d{4})"),
)
_CLOCK_BEHIND = re.compile(r"[T\s]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?\s*(Z|[+-]\d{2}:?\d{2})?$")


def read_day(words: str, order: str | None = None) -> date:
    """The day, or InputRefused; ``order`` settles 5/6/2026, which is refused where it is not said."""
    text = _CLOCK_BEHIND.sub("", words.strip())
    if found := _YEAR_FIRST.fullmatch(text) or _RUN_TOGETHER.fullmatch(text):
        return _day(words, *map(int, found.groups()))
    for pattern in _MONTH_IN_WORDS:
        if named := pattern.fullmatch(text):
            return _day(words, int(named["year"]), _month(words, named["month"]), int(named["day"]))
    if found := _YEAR_LAST.fullmatch(text):
        first, second, year = map(int, found.groups())
        orders = [order] if order else sorted(_orders(first, second))
        if len(orders) != 1:
            raise InputRefused(f"{shown(words)} could be day first or month first; say which.")
        day, month = (first, second) if orders[0] == DAY_FIRST else (second, first)
        return _day(words, year if year > 99 else 2000 + year, month, day)
    raise InputRefused(f"{shown(words)} is not a date that can be read; one like 2026-05-16 always is.")


def date_orders(words: Iterable[str]) -> frozenset[str]:
    """The orders in which all these dates can be read: both, one, or none; both where none of them needs an order."""
    possible = frozenset(DATE_ORDERS)
    for text in words:
        if found := _YEAR_LAST.fullmatch(_CLOCK_BEHIND.sub("", text.strip())):
            possible &= _orders(int(found[1]), int(found[2]))
    return possible


def needs_an_order(words: Iterable[str]) -> bool:
    """Whether any of these dates has day and month as numbers before the year."""
    return any(_YEAR_LAST.fullmatch(_CLOCK_BEHIND.sub("", text.strip())) for text in words)


def _orders(first: int, second: int) -> frozenset[str]:
    orders = ((DAY_FIRST, first, second), (MONTH_FIRST, second, first))
    return frozenset(order for order, day, month in orders if 1 <= month <= 12 and 1 <= day <= 31)


def _month(words: str, name: str) -> int:
    for number, month in enumerate(MONTHS, start=1):
        if month.lower().startswith(name.lower()):
            return number
    raise InputRefused(f"{shown(words)} names no month that can be read; write dates like 2026-05-16.")


def _day(words: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise InputRefused(f"There is no such day as {shown(words)}.") from None
