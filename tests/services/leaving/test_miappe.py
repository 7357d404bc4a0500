"""Trials in the terms of MIAPPE: every field accounted for, every observation with unit, variable and interval."""

from __future__ import annotations

import csv
import io
import re

import pytest
from conftest import SetUp
from made_season import keep_numbers, measured_season, numbers, photo_without_numbers

from journal_server.domain.derived_ids import derived_id
from journal_server.errors import InputRefused, NotFound
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal
from journal_server.services.leaving.miappe.export import miappe_files
from journal_server.services.leaving.miappe.fields import FILES, MAPPED, SECTIONS, columns_of
from journal_server.services.leaving.miappe.readme import README

Table = list[dict[str, str]]


def taken_out(journal: Journal, trial_id: str | None = None, *, with_place: bool = False) -> dict[str, Table]:
    files = dict(miappe_files(journal, trial_id, with_place=with_place))
    return {
        name: list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))
        for name, content in files.items()
        if name != README
    }


@pytest.fixture
def planting(set_up: SetUp) -> str:
    """One planting of a whole season: measured, rated, counted, cared for, with weather."""
    planter = set_up.make(
        "planter", trial_id=set_up.trial_id, name="Trough 1", planter_kind="trough", exposure="full sun",
        walk_order=3, wind=True,
    )  # fmt: skip
    cultivar = set_up.make("cultivar", genus="Petunia", species="exserta", name="Grüne Laterne", habit="trailing")
    made = set_up.planting("TAG-7K3Q9M", planter_id=planter, cultivar_id=cultivar, plants=4)
    set_up.edit("trial", set_up.trial_id, site="Secret Town")
    measured_season(set_up.journal, made, {"2026-06-12": (0.4, 0.2), "2026-07-12": (0.8, 0.5)})
    trial = set_up.trial_id
    set_up.make("care", trial_id=trial, planting_id=made, done_on="2026-06-01", action="fed", product="weak feed")
    set_up.make("care", trial_id=trial, done_on="2026-06-02", action="watered")
    set_up.make("plant_count", planting_id=made, counted_on="2026-07-01", plants=3)
    set_up.make("weather", trial_id=trial, day="2026-06-01", tmin_c=11.5, tmax_c=24, rain_mm=0)
    set_up.make("weather", trial_id=trial, day="2026-06-02", tmax_c=99 / 3, forecast=True)
    return made


def observations(tables: dict[str, Table], variable: str) -> Table:
    return [row for row in tables["observation.csv"] if row["variable_id"] == variable]


def test_every_field_of_the_list_is_a_column_or_left_out_with_a_reason(set_up: SetUp, planting: str) -> None:
    files = dict(miappe_files(set_up.journal, None))
    assert set(files) == {README, *FILES.values()}
    text = files[README].decode()
    for field in MAPPED:
        assert field.says.strip()
        assert re.search(rf"^(\| |- ){re.escape(field.name)}( \|:?|:) ", text, re.MULTILINE), field.name
    for section, name in FILES.items():
        heading = next(csv.reader(io.StringIO(files[name].decode("utf-8-sig"))))
        assert tuple(heading) == columns_of(section), name
    assert {field.section for field in MAPPED} >= set(SECTIONS)
    assert "version 1.1" in text


def test_columns_of_the_journals_own_are_told_by_their_form() -> None:
    for field in MAPPED:
        plain = re.fullmatch(r"[a-z0-9_]+", field.name) is not None
        assert plain is not field.of_the_list, field.name


def test_study_material_unit_and_factors_come_from_the_records(set_up: SetUp, planting: str) -> None:
    tables = taken_out(set_up.journal, set_up.trial_id)
    (study,) = tables["study.csv"]
    assert (study["Study title"], study["Start date of study"], study["End date of study"]) == (
        "Terrace",
        "2026-05-16",
        "",
    )
    assert study["Cultural practices"] == "fed (1 noted); watered (1 noted)"
    assert study["Description of the experimental design"].startswith("1 plantings of 1 cultivars in 1 planters")
    (material,) = tables["biological_material.csv"]
    assert [material[name] for name in ("Genus", "Species", "Infraspecific name", "habit")] == [
        "Petunia", "exserta", "‘Grüne Laterne’", "trailing",
    ]  # fmt: skip
    (unit,) = tables["observation_unit.csv"]
    assert unit["Observation unit ID"] == planting
    assert unit["Biological material ID"] == material["Biological material ID"]
    assert unit["Observation unit type"] == "plot"
    assert unit["Observation unit factor value"] == "kind of planter: trough; light: full sun; wind: yes"
    assert (unit["Spatial distribution"], unit["plants_set_out"], unit["card_code"]) == (
        "order of walking: 3",
        "4",
        "TAG-7K3Q9M",
    )
    assert [(row["Experimental factor type"], row["Experimental factor values"]) for row in
            tables["experimental_factor.csv"]] == [
        ("kind of planter", "trough"), ("light", "full sun"), ("wind", "yes"),
    ]  # fmt: skip


def test_the_season_ends_when_nothing_stands(set_up: SetUp, planting: str) -> None:
    set_up.edit("planting", planting, removed_on="2026-10-01")
    tables = taken_out(set_up.journal)
    assert tables["study.csv"][0]["End date of study"] == "2026-10-01"
    assert ("removal", "2026-10-01") in {(row["Event type"], row["Event date"]) for row in tables["event.csv"]}


def test_events_are_of_a_planting_or_of_the_whole_trial(set_up: SetUp, planting: str) -> None:
    told = [
        (row["Event date"], row["Event type"], row["Observation unit ID"], row["Event description"])
        for row in taken_out(set_up.journal)["event.csv"]
    ]
    assert told == [
        ("2026-05-16", "planting", planting, "4 plants set out"),
        ("2026-06-01", "fed", planting, "weak feed"),
        ("2026-06-02", "watered", "", ""),
    ]


def test_weather_is_measured_never_forecast(set_up: SetUp, planting: str) -> None:
    rows = taken_out(set_up.journal)["environment.csv"]
    assert [(row["date"], row["Environment parameter value"]) for row in rows] == [
        ("2026-06-01", "11.5"), ("2026-06-01", "24"), ("2026-06-01", "0"),
    ]  # fmt: skip


def test_a_measurement_is_a_row_with_its_interval_photo_and_method(set_up: SetUp, planting: str) -> None:
    tables = taken_out(set_up.journal)
    first, second = observations(tables, "canopy_fill")
    assert [first[name] for name in ("observation_unit_id", "observed_at", "days_after_planting")] == [
        planting,
        "2026-06-12T10:00:00+02:00",
        "27",
    ]
    assert [first[name] for name in ("value", "low_90", "high_90", "why_missing")] == ["0.4", "0.38", "0.42", ""]
    assert (second["value"], second["photo_file"], second["method_version"]) == ("0.8", "2026-07-12.jpg", "made up, 1")
    assert len(second["photo_sha256"]) == 64
    (count,) = observations(tables, "plants_alive")
    assert (count["value"], count["observed_at"], count["photo_file"]) == ("3", "2026-07-01", "")


def test_every_observation_names_a_variable_and_a_unit_that_are_there(set_up: SetUp, planting: str) -> None:
    tables = taken_out(set_up.journal)
    variables = {row["Variable ID"]: row for row in tables["observed_variable.csv"]}
    units = {row["Observation unit ID"] for row in tables["observation_unit.csv"]}
    assert {row["variable_id"] for row in tables["observation.csv"]} == set(variables)
    assert {row["observation_unit_id"] for row in tables["observation.csv"]} == units
    assert "spill_cm" not in variables, "a number that nothing measured is no variable of the trial"
    for row in variables.values():
        assert row["Trait"]
        assert row["Method"]
        assert row["Scale"]


def test_what_could_not_be_measured_is_empty_with_its_reason(set_up: SetUp, planting: str) -> None:
    photo = photo_without_numbers(set_up.journal, planting, "2026-08-01")
    why = "Too little bloom is seen inside the frame to read its colour."
    keep_numbers(
        set_up.journal, photo, planting,
        numbers(0.9, 0.0) | {"bloom_cover": None, "reasons": {"bloom_cover": why}},
    )  # fmt: skip
    row = observations(taken_out(set_up.journal), "bloom_cover")[-1]
    assert (row["value"], row["low_90"], row["why_missing"]) == ("", "", why)


def test_a_photo_that_cannot_be_used_says_so_at_each_number(set_up: SetUp, planting: str) -> None:
    photo = photo_without_numbers(set_up.journal, planting, "2026-08-01")
    spoiled = {"usable": False, "warnings": [{"code": "blurred", "message": "The photo is blurred."}]}
    keep_numbers(set_up.journal, photo, planting, numbers(0.9, 0.1) | {"quality": spoiled})
    row = observations(taken_out(set_up.journal), "canopy_fill")[-1]
    assert (row["value"], row["why_missing"]) == ("", "The photo cannot be used. The photo is blurred.")


def test_raters_are_numbered_not_named(set_up: SetUp, planting: str) -> None:
    trial = set_up.trial_id
    walk = derived_id("walk", trial, "2026-06-12")
    visit = derived_id("visit", walk, planting)
    changes = [
        {"kind": "walk", "id": walk, "fields": {"trial_id": trial, "walked_on": "2026-06-12"}},
        {
            "kind": "visit",
            "id": visit,
            "fields": {"trial_id": trial, "walk_id": walk, "planting_id": planting, "visited_on": "2026-06-12"},
        },
        {
            "kind": "rating",
            "id": derived_id("rating", visit, "Robin Private"),
            "fields": {
                "visit_id": visit, "planting_id": planting, "rated_on": "2026-06-12", "rater": "Robin Private",
                "vigour": 4,
            },
        },
    ]  # fmt: skip
    assert not [r.errors for r in apply_changes(set_up.journal, changes) if r.errors]
    (row,) = observations(taken_out(set_up.journal), "rating_vigour")
    assert (row["value"], row["rater"]) == ("4", "rater 1")
    everything = b"".join(content for _, content in miappe_files(set_up.journal, None))
    assert b"Robin" not in everything


def test_the_site_goes_along_only_when_asked(set_up: SetUp, planting: str) -> None:
    assert b"Secret" not in b"".join(content for _, content in miappe_files(set_up.journal, None))
    (study,) = taken_out(set_up.journal, with_place=True)["study.csv"]
    assert study["Experimental site name"] == "Secret Town"


def test_names_stay_as_typed_and_no_cell_begins_a_formula(set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="=1+1", name='<b>"x"</b>, شتلة 🌼')
    set_up.planting(cultivar_id=cultivar)
    (material,) = taken_out(set_up.journal)["biological_material.csv"]
    assert material["Genus"] == "'=1+1"
    assert material["Infraspecific name"] == '‘<b>"x"</b>, شتلة 🌼’'


def test_of_one_trial_only_its_own_is_taken_out(set_up: SetUp, planting: str) -> None:
    other = SetUp(set_up.journal)
    elsewhere = other.planting()
    tables = taken_out(set_up.journal, other.trial_id)
    assert [row["Observation unit ID"] for row in tables["observation_unit.csv"]] == [elsewhere]
    assert tables["observation.csv"] == tables["observed_variable.csv"] == []
    assert len(taken_out(set_up.journal)["study.csv"]) == 2


def test_without_plantings_or_trial_it_says_so(set_up: SetUp) -> None:
    with pytest.raises(InputRefused, match="no planting yet"):
        taken_out(set_up.journal)
    with pytest.raises(NotFound):
        taken_out(set_up.journal, "nowhere")
