"""The calls that print cards and take trials out, run as a person runs them."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from conftest import SetUp
from made_photos import jpeg

from journal_server.cli import main
from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import take_in_photo


def test_cards_are_written_with_spare_ones(
    journal: Journal, set_up: SetUp, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    set_up.planting("TAG-7K3Q9M")
    pdf = tmp_path / "cards.pdf"
    call = ["cards", "--pdf", str(pdf), "--data", str(journal.folder), "--paper", "letter", "--spare", "6"]
    assert main(call) == 0
    assert "7 cards written" in capsys.readouterr().out
    document = pypdfium2.PdfDocument(pdf)
    sizes = [tuple(map(round, page.get_size())) for page in document]
    document.close()
    assert sizes == [(612, 792)] * 2
    assert main([*call[:-2], "--spare", "2", "--only-spare"]) == 0
    assert "2 cards written" in capsys.readouterr().out
    assert main([*call[:-2], "--only-spare"]) == 2
    assert "ask for spare cards" in capsys.readouterr().err


def test_a_trial_is_taken_out_into_a_folder(
    journal: Journal, set_up: SetUp, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    set_up.planting("TAG-7K3Q9M")
    take_in_photo(journal, jpeg("2026:06:12 10:00:00", codes=("TAG-7K3Q9M",)), "a.jpg")
    gone = take_in_photo(journal, jpeg("2026:06:13 10:00:00", seed=1, codes=("TAG-7K3Q9M",)), "gone.jpg").photo
    path = journal.files.original(gone.fields["sha256"], ".jpg")
    path.chmod(0o644)
    path.unlink()
    out = tmp_path / "out"
    call = ["export", str(out), "--data", str(journal.folder), "--trial", "Terrace"]
    assert main([*call, "--only", "miappe"]) == 0
    assert (out / "miappe" / "README.md").exists()
    assert not (out / "photos").exists()
    assert main([*call, "--only", "photos"]) == 1, "one photo was left out"
    told, complained = capsys.readouterr()
    assert "1 photos are in" in told
    assert "gone.jpg: There is no such file." in complained
    assert len(list((out / "photos").glob("*/*.jpg"))) == 1
    assert main([*call, "--only", "photos", "--until", "2026-06-12"]) == 2, "nothing is written over"
    assert "not an empty folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--only", "photos", "--trial", "Nowhere"], "There is no trial 'Nowhere'. Trials here: Terrace ("),
        (["--only", "photos", "--from", "yesterday"], "must be a date"),
        (["--planting", "nobody", "--only", "photos"], "There is no such planting."),
        (["--only", "photos"], "There is no such photo"),
        (["--only", "miappe"], "There is no planting yet"),
    ],
)
def test_what_cannot_be_taken_out_is_said(
    journal: Journal, set_up: SetUp, tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], says: str
) -> None:
    assert main(["export", str(tmp_path / "out"), "--data", str(journal.folder), *options]) == 2
    assert says in capsys.readouterr().err
