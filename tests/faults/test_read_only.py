"""A data folder that cannot be written: said in a sentence, nothing changed, and it goes on when it can be again."""

from __future__ import annotations

import contextlib
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.asking import ask, photos_of, send_photo
from faults.journal_process import Serving, call, without_root
from made_photos import jpeg

from journal_server.packaged import packaged_folder
from journal_server.services.journal import open_journal
from journal_server.services.take_in_photo import take_in_photo

SAMPLE = packaged_folder("sample_photos") / "p1_2026-07-01.jpg"
EARLIER = Path(__file__).parents[1] / "storage" / "earlier" / "step_0002.zip"


@contextlib.contextmanager
def read_only(folder: Path) -> Iterator[None]:
    paths = [folder, *folder.rglob("*")]
    before = {path: path.stat().st_mode & 0o777 for path in paths}
    for path in reversed(paths):
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        yield
    finally:
        for path in paths:
            path.chmod(before[path])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "journal"
    with contextlib.closing(open_journal(made)) as journal:
        take_in_photo(journal, jpeg("2026:06:12 10:14:03", size=(160, 120)), "a.jpg")
    return made


def test_every_call_says_so_and_changes_nothing(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "b.jpg").write_bytes(jpeg("2026:06:12 10:14:03", seed=1, size=(160, 120)))
    with read_only(folder):
        before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
        for words in (
            ["serve", "--no-browser", "--port", "0"],
            ["add", tmp_path / "b.jpg"],
            ["backup", tmp_path / "b.zip"],
        ):
            refused = call(*words, "--data", folder, before=without_root())
            assert refused.returncode == 2, words
            assert "cannot be written" in refused.stderr
            assert "Traceback" not in refused.stderr
        checked = call("check", "--data", folder, before=without_root())
        assert checked.returncode == 1
        assert f"The folder {folder} cannot be written" in checked.stdout
        assert "1 photos and recordings, read and compared by hash." in checked.stdout, "it looks all the same"
        assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before
    assert call("add", "--no-measuring", tmp_path / "b.jpg", "--data", folder).returncode == 0


def test_an_earlier_journal_is_left_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    with zipfile.ZipFile(EARLIER) as kept:
        kept.extractall(folder)
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with read_only(folder):
        refused = call("numbers", "--data", folder, before=without_root())
        assert refused.returncode == 2
        assert "cannot be written" in refused.stderr
        assert "Traceback" not in refused.stderr
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert call("numbers", "--data", folder).returncode == 0


def test_a_folder_that_does_not_allow_a_journal_in_it(tmp_path: Path) -> None:
    tmp_path.chmod(0o555)
    try:
        for words in (["serve", "--no-browser", "--port", "0"], ["add", SAMPLE]):
            refused = call(*words, "--data", tmp_path / "new", before=without_root())
            assert refused.returncode == 2
            assert "cannot be made or used" in refused.stderr
    finally:
        tmp_path.chmod(0o755)


def test_a_server_whose_folder_becomes_read_only_refuses_and_goes_on_later(folder: Path) -> None:
    server = Serving(folder, before=without_root())
    content = jpeg("2026:06:12 10:14:03", seed=2, size=(160, 120))
    try:
        assert len(photos_of(server.address)) == 1
        with read_only(folder):
            status, answer = send_photo(server.address, content)
            assert status == 503
            assert "Permission denied" in answer["error"]["message"]
            assert ask(f"{server.address}/api/ready")[0] == 503
            assert ask(f"{server.address}/api/home")[0] == 200, "reading goes on"
            assert len(photos_of(server.address)) == 1
        assert send_photo(server.address, content)[0] == 201
        assert ask(f"{server.address}/api/ready")[0] == 200
    finally:
        server.kill()
    assert call("check", "--data", folder).returncode == 0
