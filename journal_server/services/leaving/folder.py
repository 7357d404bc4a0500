"""Files of an export written into a folder of their own."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from journal_server.errors import InputRefused, JournalBusy
from journal_server.services.leaving.zip_stream import Member


def write_into(folder: Path, members: Iterable[Member]) -> int:
    """Writes every file; returns how many. A folder that holds something is refused, so that nothing is mixed."""
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise InputRefused(f"{folder} is not an empty folder; name another, so that nothing is overwritten.")
        written = 0
        for name, content in members:
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
            written += 1
        return written
    except OSError as error:
        raise JournalBusy(f"{folder} cannot be written ({error.strerror}). The journal is unchanged.") from error
