"""The installed command in a process of its own, to be killed, starved of room, or kept from writing."""

from __future__ import annotations

import os
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

COMMAND = [sys.executable, "-m", "journal_server"]
STARTS_WITHIN_S = 120.0


def without_root() -> list[str]:
    """Put before a command: to root, too, a folder without the right to write cannot be written then."""
    if os.geteuid() != 0:
        return []
    setpriv = shutil.which("setpriv")  # part of util-linux, which every Debian has
    assert setpriv is not None
    return [setpriv, "--bounding-set=-dac_override,-dac_read_search"]


def call(
    *arguments: object, before: Sequence[str] = (), most_bytes: int | None = None
) -> subprocess.CompletedProcess[str]:
    """Run one call to its end; ``most_bytes`` is the largest file that it may write."""

    def limit() -> None:
        if most_bytes is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

    words = [*before, *COMMAND, *map(str, arguments)]
    return subprocess.run(words, capture_output=True, text=True, timeout=300, preexec_fn=limit)


class Serving:
    """``journal-server serve`` on a free port, until killed."""

    def __init__(self, folder: Path, *, before: Sequence[str] = ()):
        words = [*before, *COMMAND, "serve", "--no-browser", "--port", "0", "--data", str(folder)]
        # Not on the disk that is filled.
        self.errors = tempfile.NamedTemporaryFile("w+", prefix="server-", suffix=".stderr")  # noqa: SIM115
        self._process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=self.errors, text=True)
        assert self._process.stdout
        line = self._process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, f"the server did not start: {line!r}, {self.said()}"
        self.address = found[0].rstrip("/")

    @property
    def pid(self) -> int:
        return self._process.pid

    def said(self) -> str:
        self.errors.flush()
        return Path(self.errors.name).read_text()

    def kill(self) -> None:
        """SIGKILL, as a power cut for this process: no clean-up, no last answer."""
        self._process.kill()
        self._close()

    def stop(self) -> int:
        """Asked to end, as a system does; returns the exit status."""
        self._process.send_signal(signal.SIGTERM)
        return self._close()

    def _close(self) -> int:
        status = self._process.wait(timeout=90)
        assert self._process.stdout
        self._process.stdout.close()
        self.errors.close()
        return status

    def most_bytes(self, limit: int | None) -> None:
        """From now on no file may grow beyond that; None lifts it."""
        most = resource.RLIM_INFINITY if limit is None else limit
        resource.prlimit(self.pid, resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))


def wait_for(happened: object, within_s: float = 60.0) -> None:
    assert callable(happened)
    until = time.monotonic() + within_s
    while not happened():
        assert time.monotonic() < until, "it did not happen in time"
        time.sleep(0.05)
