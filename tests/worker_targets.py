"""What a measuring process may come to, for the tests of its containment."""

import os
import time
from multiprocessing.connection import Connection

from journal_server.services.measuring_process import measure_job


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
