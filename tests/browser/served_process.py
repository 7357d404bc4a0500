"""A journal served by a process of its own, so that it can be killed at any moment and is back in no time.

A parent that has loaded everything waits; each start is a fork of it.
"""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

STARTS_WITHIN_S = 60


class ServedProcess:
    """Not started yet; ``kill`` is SIGKILL: no clean-up, no last answer."""

    def __init__(self, folder: Path):
        self.folder = folder
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port: int = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        tests = str(Path(__file__).resolve().parents[1])
        self._parent = subprocess.Popen(
            [sys.executable, "-m", "browser.served_process", str(folder), str(self.port)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, [tests, os.environ.get("PYTHONPATH")]))},
        )
        self._child: int | None = None

    def start(self) -> None:
        assert self._parent.stdin
        assert self._parent.stdout
        self._parent.stdin.write("start\n")
        self._parent.stdin.flush()
        self._child = int(self._parent.stdout.readline())
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), timeout=1):
                return
            time.sleep(0.01)
        raise TimeoutError("the server did not start")

    def kill(self) -> None:
        if self._child is not None:
            os.kill(self._child, signal.SIGKILL)
            self._child = None

    def close(self) -> None:
        self.kill()
        assert self._parent.stdin
        assert self._parent.stdout
        self._parent.stdin.close()
        self._parent.wait()
        self._parent.stdout.close()


def _wait_for_starts(folder: Path, port: int) -> None:
    from cheroot.wsgi import Server

    from journal_server.app import create_app
    from journal_server.services.journal import open_journal

    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # killed children are not waited for
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            with contextlib.closing(open_journal(folder)) as journal:
                Server(("127.0.0.1", port), create_app(journal), numthreads=8).safe_start()
            os._exit(0)
        print(child, flush=True)


if __name__ == "__main__":
    _wait_for_starts(Path(sys.argv[1]), int(sys.argv[2]))
