"""The order in which files reach the disk: the bytes, then the name, then the folder that holds the name."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from made_photos import jpeg

from journal_server.services.backup import back_up_to_folder, make_backup, restore_backup
from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import take_in_photo


class Written:
    """What the system was asked to put on the disk, in order: of each file or folder its number on the disk."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch):
        self._asked: list[tuple[str, int]] = []
        fsync = os.fsync

        def noted_fsync(handle: int) -> None:
            fsync(handle)
            self._asked.append(("sync", os.fstat(handle).st_ino))

        monkeypatch.setattr(os, "fsync", noted_fsync)
        for name in ("rename", "replace"):
            monkeypatch.setattr(os, name, self._noted(getattr(os, name)))

    def _noted(self, rename: Any) -> Any:
        def noted(source: Any, target: Any, **more: Any) -> None:
            number = Path(source).stat().st_ino
            rename(source, target, **more)
            self._asked.append(("rename", number))

        return noted

    def file_then_name_then_folder(self, path: Path) -> bool:
        """Under a temporary name, renamed only once its bytes were on the disk."""
        number = path.stat().st_ino
        if ("rename", number) not in self._asked:
            return False
        at = self._last("rename", number)
        return ("sync", number) in self._asked[:at] and ("sync", path.parent.stat().st_ino) in self._asked[at:]

    def file_then_folder(self, path: Path) -> bool:
        number = path.stat().st_ino
        if ("sync", number) not in self._asked:
            return False
        return ("sync", path.parent.stat().st_ino) in self._asked[self._last("sync", number) :]

    def _last(self, what: str, number: int) -> int:
        return max(at for at, asked in enumerate(self._asked) if asked == (what, number))


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> Written:
    return Written(monkeypatch)


def files_in(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())


@pytest.mark.sqlite_only
def test_photos_backups_and_restored_files(journal: Journal, tmp_path: Path, written: Written) -> None:
    taken = take_in_photo(journal, jpeg("2026:06:12 10:14:03", size=(160, 120)), "a.jpg").photo
    kept = [journal.files.original(taken.fields["sha256"], ".jpg"), *files_in(journal.files.derived)]
    assert [path for path in kept if not written.file_then_name_then_folder(path)] == []
    make_backup(journal, tmp_path / "b.zip")
    assert written.file_then_name_then_folder(tmp_path / "b.zip")
    back_up_to_folder(journal, tmp_path / "backups", 3)
    backed_up = list(files_in(tmp_path / "backups"))
    assert len(backed_up) >= 3, "the photo, the database and its list"
    assert [path for path in backed_up if not written.file_then_name_then_folder(path)] == []
    restore_backup(tmp_path / "b.zip", tmp_path / "new")
    restored = list(files_in(tmp_path / "new"))
    assert len(restored) >= 2
    assert [path for path in restored if not written.file_then_folder(path)] == []
