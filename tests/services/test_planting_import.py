"""Order lists and other CSV of plantings: looked at first, columns as a person says, whole or not at all."""

from __future__ import annotations

from typing import Any

import pytest
from conftest import SetUp

from journal_server.domain.planting_table import guess_columns, read_exposure, read_list, read_plants, split_name
from journal_server.errors import InputRefused, NotFound
from journal_server.services.planting_import import ListChoices, ListImport, import_planting_list
from journal_server.storage.records import load_records

ORDER = '''Art. no.;Description;Pot;Qty;Price
1001;Petunia 'Plum Lamp';11 cm;4;2,95
1002;Calibrachoa 'Tin Bell' 12 cm;12 cm;6 x;3,10
1003;"Bidens ferulifolia ""Quarry Sun""";11 cm;3;2,50
'''
MAY_16 = "2026-05-16"


def take_in(set_up: SetUp, text: str, dry_run: bool = False, **choices: Any) -> ListImport:
    choices.setdefault("planted_on", MAY_16)
    return import_planting_list(set_up.journal, set_up.trial_id, text, ListChoices(**choices), dry_run=dry_run)


def stands(set_up: SetUp) -> list[tuple[Any, ...]]:
    """Planter, kind, genus, species, cultivar, plants, day, note, in walking order."""
    with set_up.journal.database.reading() as session:
        planters = {r.id: r.fields for r in load_records(session, "planter")}
        cultivars = {r.id: r.fields for r in load_records(session, "cultivar")}
        plantings = [r.fields for r in load_records(session, "planting")]
    plantings.sort(key=lambda fields: planters[fields["planter_id"]]["walk_order"])
    rows = []
    for fields in plantings:
        planter, cultivar = planters[fields["planter_id"]], cultivars[fields["cultivar_id"]]
        rows.append(
            (
                *(planter[name] for name in ("name", "planter_kind")),
                *(cultivar[name] for name in ("genus", "species", "name")),
                *(fields[name] for name in ("plants", "planted_on", "note")),
            )
        )
    return rows


def test_an_order_list_becomes_plantings_each_in_a_planter_of_its_own(set_up: SetUp) -> None:
    preview = take_in(set_up, ORDER, dry_run=True, planter_name="Pot")
    assert stands(set_up) == [], "looking writes nothing"
    assert preview.choices.columns is not None
    assert {name: at for name, at in preview.choices.columns.items() if at is not None} == {"cultivar": 1, "plants": 3}
    assert preview.as_dict()["ignored"] == ["Art. no.", "Pot", "Price"]
    assert preview.as_dict()["counts"] == {"new": 3, "wrong": 0}
    assert take_in(set_up, ORDER, planter_name="Pot").written == 3
    assert stands(set_up) == [
        ("Pot 1", "pot", "Petunia", None, "Plum Lamp", 4, MAY_16, None),
        ("Pot 2", "pot", "Calibrachoa", None, "Tin Bell", 6, MAY_16, "On the list: Calibrachoa 'Tin Bell' 12 cm"),
        ("Pot 3", "pot", "Bidens", "ferulifolia", "Quarry Sun", 3, MAY_16, None),
    ]


def test_the_same_list_again_doubles_nothing_unless_asked(set_up: SetUp) -> None:
    take_in(set_up, ORDER)
    again = take_in(set_up, ORDER)
    assert (again.written, again.as_dict()["counts"]) == (0, {"here already": 3, "wrong": 0})
    once_more = take_in(set_up, ORDER, again=True)
    assert once_more.written == 3
    assert [row[0] for row in stands(set_up)] == [f"Trough {n}" for n in range(1, 7)]


def test_a_cultivar_twice_on_a_list_is_planted_twice(set_up: SetUp) -> None:
    text = "cultivar,genus,plants\nPlum Lamp,Petunia,4\nPlum Lamp,Petunia,4\n"
    assert take_in(set_up, text).written == 2
    assert len({row[0] for row in stands(set_up)}) == 2


def test_columns_are_as_a_person_says_and_the_genus_may_be_said_for_all(set_up: SetUp) -> None:
    text = "Plum Lamp;x;12\nTin Bell;y;6\n"
    columns = {"cultivar": 0, "plants": 2}
    outcome = take_in(set_up, text, columns=columns, has_headings=False, genus="Petunia", planter_name="Bed")
    assert outcome.written == 2
    assert [row[:6] for row in stands(set_up)] == [
        ("Bed 1", "bed", "Petunia", None, "Plum Lamp", 12),
        ("Bed 2", "bed", "Petunia", None, "Tin Bell", 6),
    ]
    assert outcome.as_dict()["ignored"] == ["column 2"]


def test_a_list_with_planters_keeps_them(set_up: SetUp) -> None:
    text = (
        "Place,Variety,Genus,Number,Planted\nWall rack 2,Plum Lamp,Petunia,4,16.5.2026\n,Tin Bell,Petunia,2,17.5.2026\n"
    )
    columns = {"planter": 0, "cultivar": 1, "genus": 2, "plants": 3, "planted_on": 4}
    take_in(set_up, text, columns=columns, planted_on=None)
    assert [row[:2] + row[6:7] for row in stands(set_up)] == [
        ("Wall rack 2", "wall rack", "2026-05-16"),
        ("Trough 1", "trough", "2026-05-17"),
    ]  # fmt: skip


def test_numbers_of_new_planters_go_on_behind_those_that_are_there(set_up: SetUp) -> None:
    set_up.make("planter", trial_id=set_up.trial_id, name="Trough 7", planter_kind="trough")
    take_in(set_up, "cultivar,genus\nPlum Lamp,Petunia\n")
    assert stands(set_up)[0][0] == "Trough 8"


def test_what_is_wrong_is_said_row_by_row_and_nothing_is_written(set_up: SetUp) -> None:
    text = (
        "cultivar;genus;plants;planted;card;colour\n"
        "Plum Lamp;Petunia;many;2026-05-16;;\n"
        ";Petunia;4;2026-05-16;;\n"
        f"{'x' * 201};Petunia;4;2026-02-30;;\n"
        "Tin Bell;;0;;TAG-UUUUUU;mauve\n"
        "Good One;Petunia;4;2026-05-16;;#7a3fa6\n"
    )
    outcome = take_in(set_up, text)
    told = {row.line: {str(e.field): str(e) for e in row.errors} for row in outcome.rows}
    assert set(told[2]) == {"plants"}
    assert "'many'" in told[2]["plants"]
    assert set(told[3]) == {"cultivar"}
    assert set(told[4]) == {"cultivar", "planted_on"}
    assert set(told[5]) >= {"genus", "plants", "card_code", "bloom_colours"}
    assert told[6] == {}
    assert outcome.as_dict()["counts"] == {"new": 1, "wrong": 4}
    assert (outcome.written, stands(set_up)) == (0, [])


@pytest.mark.parametrize(
    ("text", "choices", "field"),
    [
        ("a;b\n1;2\n", {"columns": {"plants": 1}}, "cultivar"),
        ("cultivar;genus;planted\nPlum;Petunia;5/6/2026\n", {}, "date_order"),
        ("cultivar;genus\nPlum;Petunia\n", {"planted_on": None}, "planted_on"),
    ],
)
def test_a_choice_that_is_missing_is_asked_for(set_up: SetUp, text: str, choices: dict[str, Any], field: str) -> None:
    outcome = take_in(set_up, text, dry_run=True, **choices)
    assert [e.field for e in outcome.problems] == [field]
    assert outcome.has_errors


def test_days_are_read_in_the_order_that_is_said(set_up: SetUp) -> None:
    text = "cultivar;genus;planted\nPlum;Petunia;5/6/2026\n"
    take_in(set_up, text, date_order="month first")
    assert stands(set_up)[0][6] == "2026-05-06"


def test_two_lines_with_one_card_are_refused(set_up: SetUp) -> None:
    text = "cultivar;genus;card\nPlum;Petunia;TAG-7K3Q9M\nBell;Petunia;tag 7k3q9m\n"
    outcome = take_in(set_up, text)
    assert [bool(row.errors) for row in outcome.rows] == [False, True]
    assert outcome.rows[1].errors[0].field == "card_code"


def test_names_stay_as_typed(set_up: SetUp) -> None:
    hostile = "<img src=x onerror=alert(1)>"
    take_in(set_up, f'cultivar,genus\n"{hostile}",שושן 🌼\n')
    assert stands(set_up)[0][2:5] == ("שושן 🌼", None, hostile)


def test_too_many_empty_and_unknown(set_up: SetUp) -> None:
    with pytest.raises(InputRefused, match="at most 500"):
        take_in(set_up, "cultivar,genus\n" + "Plum,Petunia\n" * 501)
    with pytest.raises(InputRefused, match="no planting below"):
        take_in(set_up, "cultivar,genus\n")
    with pytest.raises(NotFound):
        import_planting_list(set_up.journal, "nowhere", ORDER, ListChoices(planted_on=MAY_16), dry_run=True)


def test_five_hundred_rows_go_in_at_once(set_up: SetUp) -> None:
    rows = "".join(f"Made Up {n},Petunia,4\n" for n in range(500))
    assert take_in(set_up, "cultivar,genus,plants\n" + rows).written == 500


@pytest.mark.parametrize(
    ("words", "split"),
    [
        ("Petunia 'Plum Lamp'", ("Petunia", None, "Plum Lamp", "")),
        ("Petunia ‘Plum Lamp’ 12 cm", ("Petunia", None, "Plum Lamp", "12 cm")),
        ("Bidens ferulifolia 'Sun'", ("Bidens", "ferulifolia", "Sun", "")),
        ("× Petchoa 'Odd'", ("× Petchoa", None, "Odd", "")),
        ("x Petchoa Odd One", ("× Petchoa", None, "Odd One", "")),
        ("Petunia Plum Lamp", ("Petunia", None, "Plum Lamp", "")),
        ("'Plum Lamp'", (None, None, "Plum Lamp", "")),
        ("Plum", (None, None, "Plum", "")),
        ("plum lamp", (None, None, "plum lamp", "")),
        ("Petunia 'Nan's Lamp'", ("Petunia", None, "Nan's Lamp", "")),
    ],
)
def test_genus_and_cultivar_in_one_cell(words: str, split: tuple[str | None, ...]) -> None:
    assert split_name(words) == split


@pytest.mark.parametrize(
    ("words", "plants"), [("4", 4), ("6 x", 6), ("12x", 12), ("3 pcs", 3), ("5 St.", 5), ("4,00", 4), ("7 Stück", 7)]
)
def test_plants_as_order_lists_write_them(words: str, plants: int) -> None:
    assert read_plants(words) == plants


@pytest.mark.parametrize("words", ["", "some", "4.5", "-2", "4 trays of 6"])
def test_what_is_no_number_of_plants_is_refused(words: str) -> None:
    with pytest.raises(InputRefused, match="whole number of plants"):
        read_plants(words)


@pytest.mark.parametrize(
    ("first", "is_heading"),
    [
        ("Planter,Cultivar", True), ("Art. no.,Description,Pot,Qty,Price", True), ("Sorte;Menge", True),
        ("Trough 1,Plum,Petunia,4", False), ("Pot,Plum Lamp,Petunia,four", False), ("Name 1,Plants 2", False),
    ],
)  # fmt: skip
def test_a_line_of_headings_is_told(first: str, is_heading: bool) -> None:
    assert bool(read_list(f"{first}\nx,y,z,4,5\n").headings) == is_heading


@pytest.mark.parametrize(
    ("heading", "column"),
    [("Delivery", "planted_on"), ("Delivery date", "planted_on"), ("Where", "planter"), ("Standort", "planter")],
)
def test_everyday_headings_are_guessed(heading: str, column: str) -> None:
    assert guess_columns(read_list(f"{heading},Variety\n1,2\n"))[column] == 0


def test_a_planting_date_goes_before_a_delivery_date() -> None:
    assert guess_columns(read_list("Delivery,Planted,Variety\n1,2,3\n"))["planted_on"] == 1


@pytest.mark.parametrize(
    ("words", "exposure"),
    [
        ("Sun", "full sun"), ("full_sun", "full sun"), ("Half-shade", "part shade"), ("partial shade", "part shade"),
        ("Halbschatten", "part shade"), ("SHADE", "shade"), ("dazzling", "dazzling"),
    ],
)  # fmt: skip
def test_exposure_as_order_lists_write_it(words: str, exposure: str) -> None:
    assert read_exposure(words) == exposure
