"""Counting by caller within a minute, with a clock of the test's own."""

from __future__ import annotations

from journal_server.services import per_minute
from journal_server.services.per_minute import PerMinute


def test_there_are_too_many_until_the_oldest_is_a_minute_ago() -> None:
    now = 0.0
    counted = PerMinute(3, lambda: now)
    counted.count("phone")
    now = 10.0
    counted.count("phone")
    assert not counted.too_many("phone")
    now = 20.0
    counted.count("phone")
    assert counted.too_many("phone")
    assert not counted.too_many("tablet")
    now = 59.9
    assert counted.too_many("phone")
    now = 60.0
    assert not counted.too_many("phone")
    counted.count("phone")
    assert counted.too_many("phone"), "those at 10, 20 and 60"


def test_a_flood_of_callers_is_forgotten_from_its_oldest(monkeypatch) -> None:
    monkeypatch.setattr(per_minute, "MOST_CALLERS", 2)
    counted = PerMinute(1, lambda: 0.0)
    for caller in ("first", "second", "third"):
        counted.count(caller)
    assert [counted.too_many(caller) for caller in ("first", "second", "third")] == [False, True, True]
