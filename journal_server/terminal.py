"""What all calls of the command line share: exit statuses, the journal at hand, progress, complaints."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from journal_server.errors import InputRefused
from journal_server.services.journal import DATABASE_FILE, Journal, default_folder, open_journal

AddCall = Callable[..., argparse.ArgumentParser]
"""Adds a call: its name, what runs it, its help; ``data=False`` for one that needs no journal."""

DONE, SOME_REFUSED, COULD_NOT_RUN = 0, 1, 2


@contextlib.contextmanager
def opened_journal(given: argparse.Namespace, *, may_begin: bool = False) -> Iterator[Journal]:
    """The journal that was named. Where none is, one begins only if the call may begin one: a mistyped folder would be
    backed up or exported as an empty journal, and look as if all were well."""
    folder = given.data or default_folder()
    if not may_begin and given.database is None and not (folder / DATABASE_FILE).exists():
        raise InputRefused(
            f"There is no journal in {folder}. Say where it is with --data; “journal-server serve” begins a new one."
        )
    with contextlib.closing(open_journal(folder, given.database, given.photos)) as journal:
        yield journal


def write_file(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputRefused(f"{path} cannot be written ({error.strerror}).") from error


def progress(what: str) -> Callable[[int, int], None]:
    """A progress bar on stderr when that is a terminal, else silence."""
    if not sys.stderr.isatty():
        return lambda done, total: None

    def tell(done: int, total: int) -> None:
        width = 30
        filled = width * done // total if total else width
        end = "\n" if done >= total else ""
        print(
            f"\r{what}  {'#' * filled}{'.' * (width - filled)}  {done} of {total}",
            end=end,
            file=sys.stderr,
            flush=True,
        )

    return tell


def complain(message: str) -> None:
    print(message, file=sys.stderr)
