"""Leaving: everything comes along, byte for byte, in forms that other programs read."""

import csv
import hashlib
import io
import json
import subprocess
from pathlib import Path

import pytest
from conftest import SetUp, data_options
from made_photos import jpeg
from made_sounds import wav

from journal_server.cli import main
from journal_server.domain.field_words import field_words
from journal_server.domain.records import KINDS
from journal_server.measurement import measure_photo
from journal_server.services.from_phone import FromPhone
from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.services.take_in_recording import take_in_recording
from journal_server.storage.records import all_measurements, load_records, save_measurement


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


@pytest.fixture
def filled(journal: Journal, set_up: SetUp) -> Journal:
    cultivar = set_up.make("cultivar", genus="Calibrachoa", name="=Ü/../b: \u202e🌼", bloom_colours=["#7a3fa6"])
    planting = set_up.planting("TAG-7K3Q9M", cultivar_id=cultivar, note='said "so"\nand so')
    said = FromPhone(planting_id=planting)
    photo = take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "../../IMG 1.jpg", said=said).photo
    take_in_photo(journal, jpeg(None, seed=2), "no date.jpg")
    take_in_recording(journal, wav(), "remark.wav")
    numbers = measure_photo(io.BytesIO(jpeg("2026:06:12 10:14:03"))).as_dict()
    with journal.database.writing() as session:
        for hashed in ("old", "new"):
            save_measurement(
                session, id=hashed, photo_id=photo.id, planting_id=planting, inputs_hash=hashed, basis_hash="b",
                method="method", numbers=numbers | {"by": hashed},
                frame_polygon=None, frame_how=None, measured_at="2026-06-12T10:00:00+00:00",
            )  # fmt: skip
    set_up.make("trial", title="gone", year=2025)
    return journal


@pytest.fixture
def folder(filled: Journal, tmp_path: Path) -> Path:
    assert main(["export", str(tmp_path / "out"), *data_options(filled)]) == 0
    return tmp_path / "out"


def test_every_file_comes_along_byte_for_byte_under_a_readable_name(filled: Journal, folder: Path) -> None:
    ours = {path.read_bytes() for path in [*filled.files.all_originals(), *filled.recordings.all_files()]}
    written = [*(folder / "photos").iterdir(), *(folder / "recordings").iterdir()]
    assert {path.read_bytes() for path in written} == ours
    assert len(written) == 3
    names = sorted(path.name for path in (folder / "photos").iterdir())
    assert names[0].startswith("2026-06-12_10-14_")
    assert "calibrachoa" in names[0].lower()
    assert "trough-1" in names[0].lower()
    assert names[1].startswith("no-date_no-planting_")
    assert all(name.isascii() and not set(name) & set("/\\: ") for name in names)
    listed = {row["file"]: row for row in rows_of(folder / "files.csv")}
    assert set(listed) == {f"{path.parent.name}/{path.name}" for path in written}
    for path in written:
        row = listed[f"{path.parent.name}/{path.name}"]
        assert row["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()


def test_every_record_and_measurement_is_there_exactly(filled: Journal, folder: Path) -> None:
    with filled.database.reading() as session:
        for kind in KINDS:
            ours = [record.as_dict() for record in load_records(session, kind, with_deleted=True)]
            assert json.loads((folder / "records" / f"{kind}.json").read_text(encoding="utf-8")) == ours
            assert len(rows_of(folder / "records" / f"{kind}.csv")) == len(ours)
        measured = [row["fields"] | {"id": row["id"]} for row in all_measurements(session)]
    assert json.loads((folder / "measurements.json").read_text()) == measured
    assert len(measured) == 2
    (planting,) = rows_of(folder / "records" / "planting.csv")
    assert planting["note"] == 'said "so"\nand so'
    (cultivar,) = rows_of(folder / "records" / "cultivar.csv")
    assert cultivar["name"].startswith("'=Ü"), "no formula for a spreadsheet"
    assert json.loads(cultivar["bloom_colours"]) == ["#7a3fa6"]


def test_the_sums_verify_with_the_systems_own_program(folder: Path) -> None:
    done = subprocess.run(["sha256sum", "-c", "--strict", "SHA256SUMS"], cwd=folder, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    files = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert {line.split(": ")[0] for line in done.stdout.splitlines()} == files - {"SHA256SUMS"}


def test_the_dictionary_tells_every_field(folder: Path) -> None:
    rows = rows_of(folder / "data_dictionary.csv")
    told = {(row["kind"], row["field"]) for row in rows}
    assert {(kind, name) for kind, fields in KINDS.items() for name in fields} <= told
    assert [row for row in rows if not row["holds"]] == []
    of_planting = {row["field"]: row for row in rows if row["kind"] == "planting"}
    assert of_planting["cultivar_id"]["points_to"] == "records/cultivar.json"


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_has_its_words(kind: str) -> None:
    assert [name for name in KINDS[kind] if field_words(kind, name) is None] == []


def test_a_damaged_photo_is_named_and_the_rest_comes_along(
    filled: Journal, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = next(filled.files.all_originals())
    path.chmod(0o644)
    path.write_bytes(b"rot")
    assert main(["export", str(tmp_path / "out"), *data_options(filled)]) == 1
    assert path.name in capsys.readouterr().err
    assert len(list((tmp_path / "out" / "photos").iterdir())) == 1


def test_a_folder_with_something_in_it_is_refused(filled: Journal, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    assert main(["export", str(tmp_path / "out"), *data_options(filled)]) == 2
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["mine.txt"]


def test_choosing_goes_with_the_parts_only(filled: Journal, tmp_path: Path) -> None:
    assert main(["export", str(tmp_path / "out"), *data_options(filled), "--trial", "Terrace"]) == 2
    assert not (tmp_path / "out").exists()
