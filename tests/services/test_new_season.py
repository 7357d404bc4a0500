"""A new season from an old one: what goes along, what does not, and that it is whole or not at all."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from conftest import SetUp

from journal_server.errors import InputRefused
from journal_server.services.new_season import NewSeason, SeasonChoices, copy_season
from journal_server.storage.records import Record, load_records

CARDS = ("TAG-7K3Q9M", "TAG-7K3Q9N")


def two_plantings(set_up: SetUp) -> list[str]:
    plantings = [set_up.planting(code, plants=5, note="last year's") for code in CARDS]
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7, begins_on="2026-05-30")
    set_up.make(
        "care_plan",
        trial_id=set_up.trial_id,
        planting_id=plantings[1],
        action="sprayed",
        every_days=7,
        product="Made-up",
    )
    return plantings


def copy(set_up: SetUp, dry_run: bool = False, **choices: Any) -> NewSeason:
    chosen = SeasonChoices(**{"title": "Terrace again", "year": 2027, **choices})
    return copy_season(set_up.journal, set_up.trial_id, chosen, dry_run=dry_run)


def of_trial(set_up: SetUp, kind: str, trial_id: str | None) -> list[Record]:
    with set_up.journal.database.reading() as session:
        return load_records(session, kind, equals={"trial_id": trial_id or ""})


def test_planters_plantings_and_plans_go_along_with_new_days(set_up: SetUp) -> None:
    two_plantings(set_up)
    made = copy(set_up, remove_on=date(2026, 10, 20))
    plantings = of_trial(set_up, "planting", made.trial_id)
    assert [(p.fields["planted_on"], p.fields["card_code"], p.fields["plants"]) for p in plantings] == [
        ("2027-05-16", CARDS[0], 5), ("2027-05-16", CARDS[1], 5),
    ]  # fmt: skip
    assert [(p.fields["note"], p.fields["removed_on"]) for p in plantings] == [(None, None)] * 2
    planters = of_trial(set_up, "planter", made.trial_id)
    assert [p.fields["name"] for p in planters] == ["Trough 1", "Trough 2"]
    assert [p.fields["planter_id"] for p in plantings] == [p.id for p in planters]
    plans = {plan.fields["action"]: plan.fields for plan in of_trial(set_up, "care_plan", made.trial_id)}
    assert plans["fed"]["begins_on"] == "2027-05-30"
    assert (plans["sprayed"]["planting_id"], plans["sprayed"]["product"]) == (plantings[1].id, "Made-up")
    assert made.removed == 2
    old = of_trial(set_up, "planting", set_up.trial_id)
    assert {p.fields["removed_on"] for p in old} == {"2026-10-20"}
    assert {p.fields["cultivar_id"] for p in plantings} == {p.fields["cultivar_id"] for p in old}


def test_looking_writes_nothing(set_up: SetUp) -> None:
    two_plantings(set_up)
    seen = copy(set_up, dry_run=True, remove_on=date(2026, 10, 20))
    assert [one.kind for one in seen.copied] == ["trial", *["planter"] * 2, *["planting"] * 2, *["care_plan"] * 2]
    assert (seen.trial_id, seen.has_errors) == (None, False)
    with set_up.journal.database.reading() as session:
        assert len(load_records(session, "trial")) == 1
        assert {p.fields["removed_on"] for p in load_records(session, "planting")} == {None}


def test_cards_that_still_stand_are_said_and_nothing_is_written(set_up: SetUp) -> None:
    two_plantings(set_up)
    made = copy(set_up)
    says = [str(error) for one in made.copied for error in one.errors]
    assert [f"The card {code} already stands" in words for code, words in zip(CARDS, says, strict=True)] == [True] * 2
    with set_up.journal.database.reading() as session:
        assert len(load_records(session, "trial")) == 1


def test_fresh_cards_one_day_for_all_and_only_the_chosen(set_up: SetUp) -> None:
    first, _ = two_plantings(set_up)
    made = copy(set_up, cards="fresh", planted_on=date(2027, 5, 1), plantings=frozenset([first]), plans=False)
    (planting,) = of_trial(set_up, "planting", made.trial_id)
    assert planting.fields["planted_on"] == "2027-05-01"
    assert planting.fields["card_code"] not in (None, *CARDS)
    assert of_trial(set_up, "care_plan", made.trial_id) == []


def test_a_planting_of_another_season_is_refused(set_up: SetUp) -> None:
    first, _ = two_plantings(set_up)
    with pytest.raises(InputRefused, match="not of this season") as refused:
        copy(set_up, cards="fresh", plantings=frozenset([first, "another"]))
    assert refused.value.field == "plantings"
    with set_up.journal.database.reading() as session:
        assert len(load_records(session, "trial")) == 1


def test_a_leap_day_falls_on_the_day_before(set_up: SetUp) -> None:
    set_up.planting(planted_on="2024-02-29", removed_on="2024-10-01")
    made = copy(set_up)
    assert [p.fields["planted_on"] for p in of_trial(set_up, "planting", made.trial_id)] == ["2025-02-28"]
