"""Dates as people write them: a table of what is read how, and what is refused."""

from __future__ import annotations

from datetime import date

import pytest

from journal_server.domain.written_days import DAY_FIRST, MONTH_FIRST, date_orders, read_day
from journal_server.errors import InputRefused

MAY_16 = date(2026, 5, 16)


@pytest.mark.parametrize(
    "words",
    [
        "2026-05-16", "2026/5/16", "20260516", "2026-05-16T00:00", "2026-05-16 12:00:00Z", "16.5.2026", "16/05/2026",
        "5/16/2026", "16.05.26", "16 May 2026", "16-May-2026", "16. May 2026", "May 16, 2026", "may 16 2026",
    ],
)  # fmt: skip
def test_dates_of_many_forms_are_read(words: str) -> None:
    assert read_day(words) == MAY_16


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("5/6/2026", "day first or month first"), ("31/2/2026", "no such day"), ("2026-13-01", "no such day"),
        ("yesterday", "not a date"), ("", "not a date"), ("16 Brumaire 2026", "no month"),
    ],
)  # fmt: skip
def test_what_is_no_date_is_refused_in_words(words: str, says: str) -> None:
    with pytest.raises(InputRefused, match=says):
        read_day(words)


def test_the_order_settles_what_can_be_read_two_ways() -> None:
    assert read_day("5/6/2026", DAY_FIRST) == date(2026, 6, 5)
    assert read_day("5/6/2026", MONTH_FIRST) == date(2026, 5, 6)
    assert date_orders(["5/6/2026", "7/6/2026"]) == {DAY_FIRST, MONTH_FIRST}
    assert date_orders(["5/6/2026", "13/6/2026"]) == {DAY_FIRST}
    assert date_orders(["5/6/2026", "6/13/2026"]) == {MONTH_FIRST}
    assert date_orders(["13/6/2026", "6/13/2026"]) == frozenset()
