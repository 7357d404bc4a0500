"""A disk that is full and then is not: a small one of its own where this user may mount one, else a limit on files."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Protocol

from faults.journal_process import Serving


class Room(Protocol):
    folder: Path

    def take(self, server: Serving | None, left_bytes: int) -> None:
        """From now on hardly anything fits: ``left_bytes`` on the disk, or in any one file."""

    def give(self, server: Serving | None) -> None:
        """There is room again."""

    def most_bytes(self) -> int | None:
        """What a call that is started now must be limited to; None where the disk itself is full."""

    def close(self) -> None: ...


class SmallDisk:
    """A file system of 24 MB in memory: what is refused is refused by the system, with its own words (ENOSPC)."""

    BYTES = 24_000_000

    def __init__(self, folder: Path):
        self.folder = folder
        folder.mkdir()
        options = ["-t", "tmpfs", "-o", f"size={self.BYTES}", "tmpfs", str(folder)]
        subprocess.run(["mount", *options], check=True, capture_output=True)

    def take(self, server: Serving | None, left_bytes: int) -> None:
        with (self.folder / "ballast").open("wb", buffering=0) as ballast:
            try:
                while True:
                    ballast.write(bytes(4096))
            except OSError:
                pass
        size = (self.folder / "ballast").stat().st_size
        with (self.folder / "ballast").open("r+b") as ballast:
            ballast.truncate(max(0, size - left_bytes))

    def give(self, server: Serving | None) -> None:
        (self.folder / "ballast").unlink(missing_ok=True)

    def most_bytes(self) -> int | None:
        return None

    def close(self) -> None:
        subprocess.run(["umount", "-l", str(self.folder)], check=True)


class LimitedFiles:
    """No file of the process may grow beyond the limit (EFBIG): what any user can set."""

    def __init__(self, folder: Path):
        self.folder = folder
        folder.mkdir()
        self._limit: int | None = None

    def take(self, server: Serving | None, left_bytes: int) -> None:
        self._limit = left_bytes
        if server:
            server.most_bytes(left_bytes)

    def give(self, server: Serving | None) -> None:
        self._limit = None
        if server:
            server.most_bytes(None)

    def most_bytes(self) -> int | None:
        return self._limit

    def close(self) -> None:
        pass


def small_disk_or_limit(folder: Path) -> Room:
    try:
        return SmallDisk(folder)
    except (OSError, subprocess.CalledProcessError):  # not root, or a container that may not mount
        folder.rmdir()
        return LimitedFiles(folder)
