"""What a verdict accepts, and that two phones make the same one."""

from __future__ import annotations

from typing import Any

import pytest

from journal_server.domain.derived_ids import derived_id
from journal_server.domain.records import KINDS, check_fields, complete_fields, id_that_follows
from journal_server.domain.verdict_fields import place_of

ID = "7d9f4f6e-6c1e-4a53-9d0a-0f4c2f3f8a11"
NUMBER = {"key": "peak", "planting_id": ID, "shown": "61 %", "interval": "57–65", "value": 0.61, "low": 0.57,
          "high": 0.65, "on": "2026-07-03", "photo_ids": [ID]}  # fmt: skip
ABOUT = {"trial_id": ID, "cultivar_id": ID, "place": "container"}


def test_a_bed_is_ground_and_every_other_planter_a_container() -> None:
    kinds = ("trough", "wall rack", "pot", "hanging basket", "bed")
    assert [place_of(kind) for kind in kinds] == ["container"] * 4 + ["ground"]


def test_the_id_follows_from_trial_cultivar_and_place() -> None:
    assert id_that_follows("verdict", ABOUT) == derived_id("verdict", ID, ID, "container")
    assert id_that_follows("verdict", ABOUT | {"place": "ground"}) != id_that_follows("verdict", ABOUT)


def test_an_empty_verdict_needs_only_what_it_is_about() -> None:
    accepted, refused = check_fields("verdict", complete_fields("verdict", dict(ABOUT)))
    assert refused == []
    said = {name: value for name, value in accepted.items() if name not in ABOUT}
    assert set(said) == set(KINDS["verdict"]) - set(ABOUT)
    assert {name for name, value in said.items() if value == []} == {"good_for", "needs", "quoted"}
    assert all(value in (None, []) for value in said.values())


def test_choices_are_kept_in_one_order_and_once() -> None:
    accepted, _ = check_fields(
        "verdict", {"good_for": ["heat", "container", "heat"], "needs": ["water", "deadheading"]}
    )
    assert accepted == {"good_for": ["container", "heat"], "needs": ["deadheading", "water"]}


def test_a_quoted_number_is_kept_with_all_that_was_known() -> None:
    accepted, refused = check_fields("verdict", {"quoted": [NUMBER]})
    assert refused == []
    assert accepted["quoted"] == [NUMBER | {"before": None, "kept": None}]


def test_no_chosen_picture_is_nothing() -> None:
    assert check_fields("verdict", {"pictures": {}})[0] == {"pictures": None}
    assert check_fields("verdict", {"pictures": {"peak": ID, "best": None}})[0] == {"pictures": {"peak": ID}}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("place", "trough"),
        ("grow_again", "maybe"),
        ("good_for", ["everything"]),
        ("good_for", "heat"),
        ("good_for", [["heat"]]),
        ("needs", [3]),
        ("one_line", "x" * 201),
        ("text", "x" * 20001),
        ("companions", "x" * 501),
        ("next_year", "burn"),
        ("next_year_plants", -1),
        ("next_year_plants", 5001),
        ("pictures", {"worst": ID}),
        ("pictures", {"best": "no id"}),
        ("pictures", [ID]),
        ("quoted", {"peak": 1}),
        ("quoted", ["61 %"]),
        ("quoted", [NUMBER] * 201),
        ("quoted", [NUMBER | {"planting_id": "no id"}]),
        ("quoted", [NUMBER | {"value": "much"}]),
        ("quoted", [NUMBER | {"value": float("nan")}]),
        ("quoted", [NUMBER | {"value": None}]),
        ("quoted", [NUMBER | {"on": "3 July"}]),
        ("quoted", [NUMBER | {"photo_ids": ["no id"]}]),
        ("quoted", [NUMBER | {"photo_ids": ID}]),
        ("quoted", [NUMBER | {"surprise": 1}]),
    ],
)
def test_wrong_values_are_refused_with_a_sentence(name: str, value: Any) -> None:
    accepted, refused = check_fields("verdict", {name: value})
    assert accepted == {}
    assert [error.field for error in refused] == [name]
    assert str(refused[0]).endswith(".")
