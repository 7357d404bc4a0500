"""What runs in the measuring process: jobs in, outcomes out; it knows no database."""

from __future__ import annotations

import signal
from multiprocessing.connection import Connection

import numpy as np

from journal_server.errors import JournalError
from journal_server.services.measuring_inputs import MeasureJob, MeasureOutcome

OVERLAY_PX = 1600


def serve_jobs(pipe: Connection) -> None:
    """Measure what comes down the pipe until it closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to handle
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(measure_job(job))


def measure_job(job: MeasureJob) -> MeasureOutcome:
    """Measure one photo: carry the frame to it, measure, draw the class map over it."""
    try:
        return _measure(job)
    except JournalError as error:
        return MeasureOutcome(failure=str(error))
    except MemoryError:
        return MeasureOutcome(failure="There was not enough memory to measure this photo.")
    except Exception as error:
        return MeasureOutcome(failure=f"Measuring failed ({type(error).__name__}: {error}).")


def _measure(job: MeasureJob) -> MeasureOutcome:
    from journal_server.measurement.measure import measure_and_draw
    from journal_server.measurement.overlay import draw_overlay
    from journal_server.measurement.photo_file import open_photo, render

    frame, how = None, None
    if job.frame and job.frame.photo_id == job.photo_id:
        frame, how = job.frame.polygon, "drawn on this photo"
    drawn = measure_and_draw(
        job.path,
        frame=frame,
        bloom_colours=job.bloom_colours,
        foliage_colours=job.foliage_colours,
        plants=job.plants,
    )
    numbers = drawn.measurement.as_dict() | {
        "photo": job.file_name,
        "taken_at": job.taken_at,
        "taken_at_source": job.taken_at_source,
    }
    shown = np.asarray(render(open_photo(job.path), OVERLAY_PX))
    scale = shown.shape[1] / drawn.measurement.width
    return MeasureOutcome(
        numbers=numbers,
        overlay=draw_overlay(shown, drawn.classes, np.array(frame) * scale if frame else None),
        frame_polygon=[list(corner) for corner in frame] if frame else None,
        frame_how=how,
    )
