"""What a measuring or decoding process may come to, for the tests of its containment."""

import os
import signal
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

from journal_server.services import decoding, measuring_process
from journal_server.services.measuring_inputs import MeasureJob, MeasureOutcome
from journal_server.services.measuring_process import measure_job, serve_jobs


def crash_on_marked(pipe: Connection) -> None:
    """Ends hard, as a crashing decoder would, on a photo whose name says so; measures the others."""
    while True:
        job = pipe.recv()
        if job.file_name == "crash.jpg":
            os._exit(139)
        pipe.send(measure_job(job))


def hang_on_marked(pipe: Connection) -> None:
    """Never answers for a photo whose name says so."""
    while True:
        job = pipe.recv()
        if job.file_name == "hang.jpg":
            time.sleep(60)
        pipe.send(measure_job(job))


def killed_on_marked(pipe: Connection) -> None:
    """Is killed, as the system kills a process when memory runs out, on a photo whose name says so."""
    while True:
        job = pipe.recv()
        if job.file_name == "killed.jpg":
            os.kill(os.getpid(), signal.SIGKILL)
        pipe.send(measure_job(job))


def out_of_memory_on_marked(pipe: Connection) -> None:
    """May have no more than 300 MB beyond what it has, and asks for ten times that on a photo whose name says so."""
    import resource  # Windows has none, and imports this file for the others

    real: Callable[[MeasureJob], MeasureOutcome] = measuring_process._measure

    def measure(job: MeasureJob) -> MeasureOutcome:
        if job.file_name == "memory.jpg":
            pages = int(Path("/proc/self/statm").read_text().split()[0])
            limit = pages * resource.getpagesize() + 300_000_000
            resource.setrlimit(resource.RLIMIT_AS, (limit, resource.RLIM_INFINITY))
            try:
                bytearray(3_000_000_000)
            finally:
                resource.setrlimit(resource.RLIMIT_AS, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        return real(job)

    measuring_process._measure = measure
    serve_jobs(pipe)


def end_or_hang_on_marked(job: MeasureJob) -> MeasureOutcome:
    """On a cluster: ends its process, or never answers, for a photo whose name says so; measures the others."""
    if job.file_name == "crash.jpg":
        os._exit(139)
    if job.file_name == "hang.jpg":
        time.sleep(600)
    return measure_job(job)


def read_or_fail_on_marked(content: bytes, name: str, file_time_s: float | None, zone: str) -> decoding.ReadPhoto:
    """As the decoders read a photo, but for one whose name says what becomes of its process."""
    if name == "crash.jpg":
        os.kill(os.getpid(), signal.SIGSEGV)
    if name == "killed.jpg":
        os.kill(os.getpid(), signal.SIGKILL)
    if name == "hang.jpg":
        time.sleep(600)
    if name == "memory.jpg":
        bytearray(6_000_000_000)
    return decoding.read_photo(content, name, file_time_s, zone)


def process_after(wait_s: float) -> tuple[int, str]:
    """Which process this is, after a while, and how readily the system ends it (Linux)."""
    time.sleep(wait_s)
    return os.getpid(), Path("/proc/self/oom_score_adj").read_text().strip()
