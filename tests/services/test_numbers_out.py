"""The numbers as files: what an independent reader of data packages and the csv module make of them."""

from __future__ import annotations

import csv
import io
import json
import warnings
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from conftest import SetUp, data_options
from flask.testing import FlaskClient
from hostile_names import HOSTILE_NAMES
from made_season import keep_numbers, measured_season, numbers, photo_without_numbers

from journal_server.analysis.numbers import DATA_DICTIONARY
from journal_server.analysis.season_table import SEASON_DICTIONARY
from journal_server.cli import main
from journal_server.domain.markup import FORMULA_BEGINNINGS
from journal_server.services.journal import Journal
from journal_server.services.leaving.folder import write_into
from journal_server.services.numbers_out import csv_text_of_photos, load_numbers, numbers_json, numbers_package

DAYS = {"2026-05-22": (0.1, 0.02), "2026-06-20": (0.5, 0.4), "2026-07-14": (0.8, 0.6), "2026-08-14": (0.8, 0.1)}


@pytest.fixture
def package_of(tmp_path: Path) -> Callable[[Journal], Any]:
    """Writes a journal's package and opens it with the reader of the standard's own project."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from frictionless import Package

    def written(journal: Journal) -> Any:
        folder = tmp_path / "package"
        write_into(folder, numbers_package(load_numbers(journal)))
        return Package(str(folder / "datapackage.json"))

    return written


def season_of(journal: Journal, set_up: SetUp, name: str = "Made Up", **fields: Any) -> str:
    planting = set_up.planting(cultivar_id=set_up.make("cultivar", genus="Petunia", name=name, **fields))
    measured_season(journal, planting, DAYS)
    return planting


def test_the_package_is_valid_and_its_values_come_back(
    journal: Journal, set_up: SetUp, package_of: Callable[[Journal], Any]
) -> None:
    for name in HOSTILE_NAMES:
        season_of(journal, set_up, name)
    season_of(journal, set_up, "Leaves", foliage_only=True)
    set_up.planting()
    loose = photo_without_numbers(journal, set_up.planting(), "2026-07-01")
    keep_numbers(journal, loose, set_up.planting(), numbers(0.4, 0.2))
    package = package_of(journal)
    report = package.validate()
    assert report.flatten(["title", "rowNumber", "fieldName", "note"]) == []
    found, table = load_numbers(journal), package.get_resource("numbers").read_rows()
    assert len(table) == len(found.photos) == 4 * (len(HOSTILE_NAMES) + 1)
    for row, wanted in zip(table, found.photos, strict=True):
        assert row["sha256"] == wanted["sha256"]
        assert row["taken_at"] == datetime.fromisoformat(str(wanted["taken_at"]))
        assert float(row["canopy_fill_low"]) == pytest.approx(wanted["canopy_fill_low"], rel=1e-5)
        assert (row["spill_cm"], wanted["spill_cm"]) == (None, None)
    seasons = {row["cultivar"]: row for row in package.get_resource("seasons").read_rows()}
    assert len(package.get_resource("seasons").read_rows()) == len(HOSTILE_NAMES) + 4
    leaves = seasons["Leaves"]
    assert (leaves["peak_bloom_cover"], leaves["peak_bloom_cover_on"]) == (None, None)
    assert leaves["peak_bloom_cover_reason"] == "this cultivar is grown for its leaves"
    assert seasons["Grüner Größenwahn"]["peak_bloom_cover_on"].isoformat() == "2026-07-14"


def test_a_value_out_of_bounds_would_be_found(
    journal: Journal, set_up: SetUp, package_of: Callable[[Journal], Any]
) -> None:
    planting = season_of(journal, set_up)
    wrong = photo_without_numbers(journal, planting, "2026-09-01")
    keep_numbers(journal, wrong, planting, numbers(1.7, 0.2))
    report = package_of(journal).validate()
    fields = {field for (field,) in report.flatten(["fieldName"])}
    assert {"canopy_fill", "canopy_fill_low", "canopy_fill_high"} <= fields


def test_every_column_is_described_once_with_its_type(journal: Journal, set_up: SetUp) -> None:
    season_of(journal, set_up)
    found = load_numbers(journal)
    for columns, rows in ((DATA_DICTIONARY, found.photos), (SEASON_DICTIONARY, found.seasons)):
        names = [column.name for column in columns]
        assert len(set(names)) == len(names)
        assert all(column.description for column in columns)
        assert all(list(row) == names for row in rows)
        for column in columns:
            if column.kind == "number":
                assert column.unit, f"{column.name} says no unit"


def test_no_cell_is_a_formula_and_negative_numbers_stay_numbers(journal: Journal, set_up: SetUp) -> None:
    for name in HOSTILE_NAMES:
        season_of(journal, set_up, name)
    early = set_up.planting(planted_on="2026-06-01")
    measured_season(journal, early, {"2026-05-22": (0.1, 0.02)})
    rows = list(csv.DictReader(io.StringIO(csv_text_of_photos(load_numbers(journal)))))
    assert rows[-1]["days_after_planting"] == "-10"
    for row in rows:
        for name, cell in row.items():
            assert not cell.startswith(FORMULA_BEGINNINGS) or float(cell) == int(cell), name
    typed = {row["cultivar"].removeprefix("'") for row in rows}
    assert set(HOSTILE_NAMES) <= typed


def test_json_holds_names_as_typed_and_says_what_each_column_means(journal: Journal, set_up: SetUp) -> None:
    season_of(journal, set_up, '=HYPERLINK("http://evil.example","x")')
    found = numbers_json(load_numbers(journal))
    assert {row["cultivar"] for row in found["rows"]} == {'=HYPERLINK("http://evil.example","x")'}
    meaning = {field["name"]: field for field in found["fields"]}
    assert meaning["canopy_fill"]["unit"] == "fraction"
    assert list(found["rows"][0]) == list(meaning)
    assert found["seasons"]["rows"][0]["trial"] == "Terrace"


def test_one_trial_alone(journal: Journal, set_up: SetUp, client: FlaskClient) -> None:
    season_of(journal, set_up, "Here")
    here, set_up.trial_id = set_up.trial_id, set_up.make("trial", title="Elsewhere", year=2025)
    season_of(journal, set_up, "There")
    assert {row["cultivar"] for row in load_numbers(journal).photos} == {"Here", "There"}
    answer = client.get(f"/api/numbers?trial={here}").get_json()
    assert {row["cultivar"] for row in (*answer["rows"], *answer["seasons"]["rows"])} == {"Here"}
    assert client.get("/api/numbers?trial=none").status_code == 404


def test_the_address_gives_the_same_as_files(journal: Journal, set_up: SetUp, client: FlaskClient) -> None:
    season_of(journal, set_up, "Größenwahn")
    plain = client.get("/api/numbers?format=csv")
    assert plain.mimetype == "text/csv"
    assert plain.data.decode() == csv_text_of_photos(load_numbers(journal))
    # A spreadsheet program takes a CSV for UTF-8 by its mark.
    assert client.get("/api/numbers?format=csv&for=spreadsheet").data.decode("utf-8-sig") == plain.data.decode()
    package = client.get("/api/numbers?format=package")
    assert package.headers["Content-Disposition"] == 'attachment; filename="numbers.zip"'
    with zipfile.ZipFile(io.BytesIO(package.data)) as archive:
        assert archive.testzip() is None
        assert set(archive.namelist()) == {"datapackage.json", "README.md", "numbers.csv", "seasons.csv"}
        assert archive.read("numbers.csv") == plain.data
        assert json.loads(archive.read("datapackage.json"))["title"] == "Measured numbers of all trials"
    assert client.get("/api/numbers?format=pdf").status_code == 422


def test_the_command_writes_csv_json_and_package(
    journal: Journal, set_up: SetUp, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    season_of(journal, set_up)
    data, files = data_options(journal), [tmp_path / name for name in ("n.csv", "n.json", "n.zip", "folder")]
    csv_file, json_file, archive, folder = map(str, files)
    call = ["numbers", *data, "--trial", "Terrace", "--csv", csv_file, "--json", json_file, "--package", archive]
    assert main(call) == 0
    assert main(["numbers", *data, "--package", folder]) == 0
    out = capsys.readouterr().out
    assert all(f"Written to {path}" in out for path in files)
    assert len(json.loads(Path(json_file).read_text(encoding="utf-8"))["rows"]) == 4
    with zipfile.ZipFile(archive) as packed:
        assert packed.read("numbers.csv") == Path(csv_file).read_bytes() == (Path(folder) / "numbers.csv").read_bytes()
    assert main(["numbers", *data, "--package", folder]) == 2
    assert "is not an empty folder" in capsys.readouterr().err
    assert main(["numbers", *data, "--trial", "Nowhere"]) == 2
    assert "Trials here: Terrace" in capsys.readouterr().err
