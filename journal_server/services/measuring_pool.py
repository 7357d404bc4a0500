"""Measuring on a dask cluster: a photo's bytes travel with its job, to whichever machine is free."""

from __future__ import annotations

import os
import tempfile
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor
from concurrent.futures import TimeoutError as TookTooLong
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from journal_server.errors import InputRefused, JournalBusy
from journal_server.services.measuring import LONGEST_S, Worker, WorkerProcess
from journal_server.services.measuring_inputs import METHOD, MeasureJob, MeasureOutcome
from journal_server.services.measuring_process import measure_job

MOST_AT_ONCE = 64
QUEUED_S = 60.0
"""How much longer than it may measure a photo may take to travel and wait."""

Measure = Callable[[MeasureJob], MeasureOutcome]


@dataclass(frozen=True)
class Travelling:
    """A job with the bytes of its photo, and of the photo on which its frame was drawn where that is another."""

    job: MeasureJob
    photo: bytes
    frame_photo: bytes | None

    @classmethod
    def pack(cls, job: MeasureJob) -> Travelling:
        another = job.frame is not None and job.frame.path != job.path
        frame_photo = Path(job.frame.path).read_bytes() if job.frame and another else None
        return cls(job, Path(job.path).read_bytes(), frame_photo)

    def measure(self, measure: Measure, longest_s: float) -> MeasureOutcome:
        """On the machine that measures. Where it hangs the process ends itself, and its nanny begins a new one."""
        if self.job.method != METHOD:
            raise JournalBusy(
                f"A machine that measures has another version ({METHOD}) than this one: install the same."
            )
        watch = threading.Timer(longest_s, os._exit, (70,))
        watch.daemon = True
        watch.start()
        try:
            with tempfile.TemporaryDirectory() as folder:
                return measure(self._unpack(Path(folder)))
        finally:
            watch.cancel()

    def _unpack(self, folder: Path) -> MeasureJob:
        job = self.job
        path = folder / Path(job.path).name
        path.write_bytes(self.photo)
        if job.frame is None:
            return replace(job, path=str(path))
        drawn_on = folder / Path(job.frame.path).name
        if self.frame_photo is not None:
            drawn_on.write_bytes(self.frame_photo)
        return replace(job, path=str(path), frame=replace(job.frame, path=str(drawn_on)))


class PoolWorker:
    """One photo at a time on any executor whose workers may be elsewhere; what befalls one of them costs one photo."""

    def __init__(self, pool: Executor, measure: Measure = measure_job, longest_s: float = LONGEST_S) -> None:
        self._pool = pool
        self._measure = measure
        self._longest_s = longest_s
        self.queued_s = QUEUED_S

    def measure(self, job: MeasureJob) -> MeasureOutcome:
        future = self._pool.submit(Travelling.pack(job).measure, self._measure, self._longest_s)
        try:
            outcome = future.result(timeout=self._longest_s + self.queued_s)
        except TookTooLong:
            future.cancel()
            return MeasureOutcome(failure="The machines that measure did not answer in time.")
        except JournalBusy:
            raise
        except CancelledError:
            raise JournalBusy("The machines that measure have gone; the photo goes on waiting.") from None
        except Exception as error:
            return MeasureOutcome(failure=f"The machine that measured this photo failed ({type(error).__name__}).")
        return outcome

    def stop(self) -> None:
        """Whoever made the pool ends it."""


class DaskPool:
    """A connection to a scheduler, with as many workers for a measuring room as its cluster measures at once."""

    def __init__(self, address: str, measure: Measure = measure_job, longest_s: float = LONGEST_S) -> None:
        self._client = _connected(address)
        at_once = sum(self._client.nthreads().values())
        if not at_once:
            self.close()
            raise JournalBusy(f"The scheduler at {address} has no workers yet; start them (dask worker {address}).")
        self._executor = self._client.get_executor(pure=False)
        self.workers = [PoolWorker(self._executor, measure, longest_s) for _ in range(min(at_once, MOST_AT_ONCE))]

    def close(self) -> None:
        self._client.close()


@contextmanager
def chosen_workers(choice: str | None) -> Iterator[list[Worker] | None]:
    """What ``--workers`` says: a number of processes here, the address of a scheduler, or None for the usual number."""
    if choice is None:
        yield None
    elif choice.startswith(("tcp://", "tls://")):
        with closing(DaskPool(choice)) as pool:
            yield list(pool.workers)
    elif choice.isdecimal() and int(choice) <= MOST_AT_ONCE:
        yield [WorkerProcess() for _ in range(int(choice))]
    else:
        raise InputRefused(
            f"--workers is a number from 0 to {MOST_AT_ONCE}, or the address of a scheduler (tcp://host:8786)."
        )


def _connected(address: str) -> Any:
    try:
        import distributed
    except ImportError:
        raise InputRefused(
            "Measuring on a cluster needs the extra “dask” (pip install 'planting-trial-journal[dask]')."
        ) from None
    try:
        connect: Any = distributed.Client
        return connect(address, timeout=10, set_as_default=False)
    except (OSError, ValueError) as error:
        raise JournalBusy(f"The scheduler at {address} does not answer ({error}). See whether it runs.") from error
