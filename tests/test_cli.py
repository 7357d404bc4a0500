"""The installed command, run as a person runs it: arguments in, text, files and exit status out."""

import csv
import io
import json
import socket
import stat
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from conftest import SetUp

from journal_server.cli import main
from journal_server.packaged import packaged_folder
from journal_server.services.demo import fill_demo
from journal_server.services.journal import Journal, open_journal
from journal_server.storage.records import load_records, save_record

SAMPLE = packaged_folder("sample_photos")


def test_add_says_what_went_where_and_exits_1_when_some_were_refused(
    journal: Journal, set_up: SetUp, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    set_up.planting("TAG-3T50A4")
    folder = tmp_path / "walk"
    (folder / "more").mkdir(parents=True)
    (folder / "p1.jpg").write_bytes((SAMPLE / "p1_2026-07-01.jpg").read_bytes())
    (folder / "more" / "copy.jpg").write_bytes((SAMPLE / "p1_2026-07-01.jpg").read_bytes())
    (folder / "film.mp4").write_bytes(b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom")
    status = main(["add", str(folder), str(tmp_path / "nowhere.jpg"), "--data", str(journal.folder)])
    out, err = capsys.readouterr()
    assert status == 1
    assert "Petunia 'Made Up 1' in Trough 1: Card TAG-3T50A4 and the date.\n  copy.jpg  2026-07-01 10:01: fill " in out
    assert "Already here, not taken in again: p1.jpg (as copy.jpg)" in out
    assert "whole photo was measured. Draw the planter's frame\n      once. [copy.jpg]" in out
    assert max(map(len, out.splitlines())) <= 80
    assert "1 taken in, 1 already here, 2 refused." in out
    assert "film.mp4: refused. This is a video" in err
    assert "nowhere.jpg: refused. There is no such file." in err or "cannot be read" in err


def test_measure_prints_the_contracts_json(capsys: pytest.CaptureFixture[str]) -> None:
    frame = "116,519 36,360 80,226 886,158 982,264 911,422"
    photo = str(SAMPLE / "p1_2026-06-17.jpg")
    call = ["measure", photo, "--frame", frame, "--bloom-colour", "#7A3FA6", "--plants", "4", "--json"]
    assert main(call) == 0
    measured = json.loads(capsys.readouterr().out)
    assert {
        "photo", "method", "taken_at", "taken_at_source", "width", "height", "tag", "card_corners", "white_reference",
        "canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share", "spill_cm", "slots", "evenness",
        "bloom_colour", "quality", "reasons",
    } <= set(measured)  # fmt: skip
    assert (measured["photo"], measured["tag"], measured["taken_at_source"]) == (
        "p1_2026-06-17.jpg",
        "TAG-3T50A4",
        "exif",
    )
    assert measured["canopy_fill"]["low"] <= measured["canopy_fill"]["value"] <= measured["canopy_fill"]["high"]
    nulls = {name for name, value in measured.items() if value is None} - {"lagging_slot"}  # null there: none lags
    assert nulls <= set(measured["reasons"]), "what could not be had says why"


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (["measure", "x.jpg", "--frame", "1,2 3,x 5,6"], "must look like"),
        (["measure", "x.jpg", "--frame", "1,2 3,4 5,6"], "enclose no area"),
        (["measure", "x.jpg", "--bloom-colour", "red"], "#7a3fa6"),
        (["restore", "nowhere.zip", "--data", "{tmp}/new"], "no archive"),
        (["cards", "--pdf", "{tmp}/cards.pdf", "--data", "{tmp}/empty"], "Set up the trial first"),
        (["numbers", "--csv", "{tmp}/no/such/folder/n.csv", "--data", "{tmp}/empty"], "cannot be written"),
        (["numbers", "--database", "nonsense", "--data", "{tmp}/empty"], "database URL"),
        (["numbers", "--database", "oracle://x", "--data", "{tmp}/empty"], "driver it names is not installed"),
        (["serve", "--port", "99999", "--data", "{tmp}/empty"], "no port"),
    ],
)
def test_what_cannot_run_says_why_and_exits_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], call: list[str], words: str
) -> None:
    open_journal(tmp_path / "empty").close()
    assert main([part.replace("{tmp}", str(tmp_path)) for part in call]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(
    "call",
    ["backup {tmp}/kept.zip", "backup {tmp}/kept --folder", "export {tmp}/out", "numbers", "cards --pdf {tmp}/c.pdf",
     "pair", "report trial --html {tmp}/r.html", "check"],
)  # fmt: skip
def test_a_mistyped_folder_is_no_empty_journal(tmp_path: Path, capsys: pytest.CaptureFixture[str], call: str) -> None:
    (tmp_path / "kept.zip").write_bytes(b"the last good backup")
    folder = tmp_path / "jurnal"
    assert main([*call.replace("{tmp}", str(tmp_path)).split(), "--data", str(folder)]) == 2
    assert f"There is no journal in {folder}." in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["kept.zip"]
    assert (tmp_path / "kept.zip").read_bytes() == b"the last good backup"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps no such modes")
def test_a_new_journal_and_its_backups_are_for_its_owner_alone(tmp_path: Path) -> None:
    new, archive, backups, restored = (tmp_path / name for name in ("new", "a.zip", "backups", "restored"))
    open_journal(new).close()
    assert main(["backup", str(archive), "--data", str(new)]) == 0
    assert main(["backup", str(backups), "--folder", "--data", str(new)]) == 0
    assert main(["restore", str(archive), "--data", str(restored)]) == 0
    for made in (new, archive, backups, restored):
        assert stat.S_IMODE(made.stat().st_mode) & 0o077 == 0, made
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared").chmod(0o750)
    open_journal(tmp_path / "shared").close()
    assert stat.S_IMODE((tmp_path / "shared").stat().st_mode) == 0o750, "whoever made it meant it so"


def test_a_folder_is_not_taken_for_an_archive(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    open_journal(tmp_path / "journal").close()
    assert main(["backup", str(tmp_path), "--data", str(tmp_path / "journal")]) == 2
    assert "is a folder. Name a file in it" in capsys.readouterr().err


def test_numbers_are_a_tidy_table_with_empty_cells_for_unknown(
    journal: Journal, set_up: SetUp, capsys: pytest.CaptureFixture[str]
) -> None:
    set_up.planting("TAG-3T50A4")
    main(["add", str(SAMPLE / "p1_2026-07-01.jpg"), "--data", str(journal.folder)])
    capsys.readouterr()
    assert main(["numbers", "--data", str(journal.folder)]) == 0
    (row,) = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    wanted = ["photo", "sha256", "planting", "cultivar", "planter", "taken_at", "days_after_planting", "canopy_fill"]
    assert list(row)[:8] == wanted
    assert (row["photo"], row["days_after_planting"], row["spill_cm"]) == ("p1_2026-07-01.jpg", "46", "")
    assert 0 <= float(row["canopy_fill_low"]) <= float(row["canopy_fill"]) <= float(row["canopy_fill_high"]) <= 1
    assert {"bloom_hex", "fade_de00", "method"} <= set(row)


def test_a_name_that_looks_like_a_formula_is_made_safe(
    journal: Journal, set_up: SetUp, capsys: pytest.CaptureFixture[str]
) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name='=HYPERLINK("http://evil.example")')
    set_up.planting("TAG-3T50A4", cultivar_id=cultivar)
    main(["add", str(SAMPLE / "p1_2026-07-01.jpg"), "--data", str(journal.folder)])
    capsys.readouterr()
    main(["numbers", "--data", str(journal.folder)])
    (row,) = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert row["cultivar"].startswith("'=")


def test_a_port_in_use_is_told_before_any_work(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        assert main(["demo", "--port", port, "--data", str(tmp_path / "demo")]) == 2
    assert f"Port {port} is in use" in capsys.readouterr().err
    assert list((tmp_path / "demo" / "originals").iterdir()) == []


def photos_elsewhere(journal: Journal) -> list[str]:
    """Photos of the demo that are at, or suggested for, another planting than their file's name says."""
    codes = {
        planting["card_code"]: planting["code"].lower()
        for planting in json.loads((SAMPLE / "season.json").read_text(encoding="utf-8"))["plantings"]
    }
    with journal.database.reading() as session:
        code_of = {r.id: codes[r.fields["card_code"]] for r in load_records(session, "planting")}
        photos = [r.fields for r in load_records(session, "photo")]
    placed = [(f["file_name"], code_of[f["planting_id"] or f["suggested_planting_id"]]) for f in photos]
    return [name for name, code in placed if not name.startswith(f"{code}_")]


def test_the_demo_serves_and_ctrl_c_leaves_a_usable_journal(tmp_path: Path) -> None:
    """A real process: started, asked over HTTP, interrupted, started again on the same data."""
    data = tmp_path / "demo"

    journal = open_journal(data)
    fill_demo(journal, SAMPLE)
    assert photos_elsewhere(journal) == []
    with journal.database.writing() as session:
        for photo in load_records(session, "photo")[3:]:  # three are measured here; all of them in the benchmark
            save_record(session, "photo", photo.id, {"measuring": "failed"})
    journal.close()
    call = [sys.executable, "-m", "journal_server", "demo", "--no-browser", "--port", "0", "--data", str(data)]
    process = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        address = ""
        deadline = time.monotonic() + 90
        while not address and time.monotonic() < deadline:
            line = process.stdout.readline()
            address = line.split()[4] if line.startswith("The journal is at") else ""
        with urllib.request.urlopen(f"{address}api/home") as answer:
            assert json.load(answer)["measuring"] == {"waiting": 0, "done": 3, "failed": 61}
    finally:
        process.send_signal(2)
        out, err = process.communicate(timeout=30)
    assert process.returncode == 0, err
    assert "everything is kept" in out
    again = open_journal(data)
    with again.database.reading() as session:
        assert len(load_records(session, "photo")) == 64
    again.close()
