"""The class map of a photo as the method alone saw it; where it is not kept, the photo is measured once more for it."""

from __future__ import annotations

import threading

from journal_server.measurement.class_map import Bytes, read_likeliest
from journal_server.services.journal import Journal
from journal_server.services.measuring import WorkerProcess
from journal_server.services.measuring_inputs import plan_measuring

_making = threading.BoundedSemaphore(1)
"""One at a time: each takes a process of its own for a few seconds."""


def class_map(journal: Journal, photo_id: str) -> Bytes | None:
    """uint8 (h, w), the place of each pixel's likeliest class in ``segmentation.CLASSES``; None where none can be had.

    Photos measured by an earlier version have none kept, and what is derived may have been thrown away.
    """
    planned = plan_measuring(journal, photo_id)
    if planned is None:
        return None
    job = planned.uncorrected
    kept = journal.files.derived_file(job.sha256, job.classes_name)
    with _making:
        if kept.exists():
            return read_likeliest(kept.read_bytes())
        worker = WorkerProcess()
        try:
            made = worker.measure(job).classes
        finally:
            worker.stop()
        if made is None:
            return None
        journal.files.keep_derived(job.sha256, job.classes_name, made)
    return read_likeliest(made)
