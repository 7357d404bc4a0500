"""A process of its own for work that may crash, hang or run out of memory: it costs one job, not the rest."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from journal_server.errors import JournalBusy

_BEGINNING = threading.Lock()


class TookTooLong(Exception):
    """The job was not done in time; its process was ended."""


class EndedUnexpectedly(Exception):
    """The process ended during the job. ``code`` as of `multiprocessing`: negative for a signal."""

    def __init__(self, code: int | None):
        super().__init__(f"exit code {code}")
        self.code = code


class ChildProcess:
    """One child process that does a job at a time; replaced when it dies or is ended for taking too long."""

    def __init__(self, target: Callable[[Connection], None], longest_s: float) -> None:
        self._target = target
        self._longest_s = longest_s
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None

    @property
    def pid(self) -> int | None:
        return self._process.pid if self._process else None

    def ask(self, job: Any) -> Any:
        """What the process answers.

        Raises TookTooLong, EndedUnexpectedly, or JournalBusy where the system begins no process.
        """
        pipe = self._ready()
        try:
            pipe.send(job)
            if not pipe.poll(self._longest_s):
                raise TookTooLong
            return pipe.recv()
        except (EOFError, OSError):
            if self._process:
                self._process.join(timeout=2.0)  # the pipe closes a moment before the process has its exit code
            code = self._process.exitcode if self._process else None
            self.stop()
            raise EndedUnexpectedly(code) from None
        except BaseException:  # too late, or broken off: its answer must never be taken for that to the next job
            self.stop()
            raise

    def stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join()
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = None

    def _ready(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._pipe is None:
            self.stop()
            # Inherited by the new process: one thread each, for there is a process for every core.
            for name in ("OMP_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
                os.environ.setdefault(name, "1")
            self._pipe, self._process = _begin(self._target)
        return self._pipe


def _begin(target: Callable[[Connection], None]) -> tuple[Connection, multiprocessing.process.BaseProcess]:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=target, args=(theirs,), daemon=True)
    try:
        with _no_main_program():
            process.start()
    except OSError as error:
        ours.close()
        raise JournalBusy(
            f"The system begins no further process ({error.strerror}). Nothing is lost; try again in a moment."
        ) from error
    finally:
        theirs.close()
    return ours, process


@contextlib.contextmanager
def _no_main_program() -> Iterator[None]:
    """For as long as a process begins: it would import the program that runs here anew, of which it needs nothing.

    A script that does not guard its main part would run a second time there.
    """
    with _BEGINNING:
        main = sys.modules["__main__"]
        kept = {name: getattr(main, name) for name in ("__spec__", "__file__") if hasattr(main, name)}
        main.__spec__ = None
        main.__dict__.pop("__file__", None)
        try:
            yield
        finally:
            main.__dict__.update(kept)


def answer_jobs(pipe: Connection, answer: Callable[[Any], Any], idle_s: float | None = None) -> None:
    """What a child process does: answer what comes down the pipe until it closes, or nothing has come for so long."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to handle
    _offer_to_be_ended_first()
    while True:
        try:
            if not pipe.poll(idle_s):
                return
            pipe.send(answer(pipe.recv()))
        except (EOFError, OSError):  # whoever asked has gone
            return


def limit_memory(most_bytes: int) -> None:
    """Let this process have no more memory of its own; other systems than Linux do not keep to such a limit.

    Threads reserve far more addresses than they use (64 MB each), so addresses are not what is limited.
    """
    if sys.platform == "linux":
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_DATA)
        most = most_bytes if hard == resource.RLIM_INFINITY else min(most_bytes, hard)
        resource.setrlimit(resource.RLIMIT_DATA, (most, hard))


def _offer_to_be_ended_first() -> None:
    """Where memory runs out the system ends a process of its choice: this one costs a photo, the server all uploads."""
    with contextlib.suppress(OSError):  # other systems have no such file
        Path("/proc/self/oom_score_adj").write_text("900")
