"""The season put together ahead after a start: the one under way, kept for the first who asks, ended when told."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest
from conftest import SetUp
from made_season import measured_season

from journal_server.services import ready_ahead
from journal_server.services.journal import Journal
from journal_server.services.ready_ahead import PHONE_PX, ReadyAhead
from journal_server.services.timeline import Order, timeline_figure


def kept(journal: Journal) -> set[object]:
    return set(journal.kept_seasons._things)


def test_the_season_under_way_is_kept_before_it_is_asked_for(journal: Journal, set_up: SetUp) -> None:
    today = journal.today()
    under_way = set_up.planting(planted_on=(today - timedelta(days=60)).isoformat())
    measured_season(journal, under_way, {(today - timedelta(days=30)).isoformat(): (0.4, 0.1)})
    other = set_up.make("trial", title="Next year", year=today.year + 1)
    planter = set_up.make("planter", trial_id=other, name="Pot", planter_kind="pot")
    cultivar = set_up.make("cultivar", genus="Petunia", name="To Come")
    planted_on = (today + timedelta(days=90)).isoformat()
    set_up.make("planting", trial_id=other, planter_id=planter, cultivar_id=cultivar, planted_on=planted_on)
    assert kept(journal) == set()
    ReadyAhead(journal).make_ready()
    assert kept(journal) == {under_way}
    (name,) = journal.kept_figures._things
    assert name == ("timeline", set_up.trial_id, PHONE_PX, Order())
    assert timeline_figure(journal, set_up.trial_id, PHONE_PX, Order()).count('class="fig-row"') == 1


def test_in_an_empty_journal_there_is_nothing_to_do(journal: Journal) -> None:
    ReadyAhead(journal).make_ready()
    assert kept(journal) == set()


def test_it_ends_between_two_plantings_when_told(
    journal: Journal, set_up: SetUp, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(3):
        set_up.planting(planted_on="2020-05-16")
    begun, go_on = threading.Event(), threading.Event()
    seen: list[str] = []

    def slowly(_journal: Journal, planting_id: str) -> None:
        seen.append(planting_id)
        begun.set()
        go_on.wait(30)

    monkeypatch.setattr(ready_ahead, "load_season", slowly)
    ahead = ReadyAhead(journal)
    ahead.start()
    assert begun.wait(30)
    ahead._stopping.set()
    go_on.set()
    ahead.stop()
    assert len(seen) == 1
    assert not ahead._thread.is_alive()
