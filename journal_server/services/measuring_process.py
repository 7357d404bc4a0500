"""What runs in the measuring process: jobs in, outcomes out; it knows no database."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from journal_server.errors import JournalError
from journal_server.services.child_process import answer_jobs
from journal_server.services.measuring_inputs import CorrectionSource, MeasureJob, MeasureOutcome

if TYPE_CHECKING:
    from journal_server.measurement.frame_carry import CarriedFrame
    from journal_server.measurement.landmarks import View

OVERLAY_PX = 1600
LANDMARK_PIXELS = 400_000
UNCARRIED_ERROR = 0.15
"""How far a frame that could not be carried may lie off, as a share of its longer extent."""

Corners = Sequence[Sequence[float]] | None


def serve_jobs(pipe: Connection) -> None:
    """Measure what comes down the pipe until it closes."""
    answer_jobs(pipe, measure_job)


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
    from journal_server.measurement.class_map import likeliest_png
    from journal_server.measurement.frame_doubt import widen_for_frame
    from journal_server.measurement.measure import measure_and_draw

    carried = _carried_frame(job)
    frame = carried.polygon if carried else None
    drawn = measure_and_draw(
        job.path,
        frame=frame,
        bloom_colours=job.bloom_colours,
        foliage_colours=job.foliage_colours,
        plants=job.plants,
        correction=job.correction.strokes if job.correction else (),
    )
    known = {"photo": job.file_name, "taken_at": job.taken_at, "taken_at_source": job.taken_at_source}
    measured = drawn.measurement
    if carried and carried.polygon:
        error_px = carried.error_px if carried.error_px is not None else UNCARRIED_ERROR * _extent(carried.polygon)
        measured = widen_for_frame(measured, drawn.classes, _array(carried.polygon), error_px)
    numbers = measured.as_dict() | known
    if job.correction:
        numbers["by_hand"] = _by_hand(job.correction, drawn.painted_share, job.uncorrected.inputs_hash)
    if carried and carried.warning:
        numbers["quality"]["warnings"].insert(0, {"code": "frame_carried", "message": carried.warning})
    return MeasureOutcome(
        numbers=numbers,
        overlay=_overlay(job.path, drawn.classes, frame),
        classes=likeliest_png(drawn.classes),
        overlay_uncorrected=_overlay(job.path, drawn.painted.before, frame) if drawn.painted else None,
        classes_uncorrected=likeliest_png(drawn.painted.before) if drawn.painted else None,
        frame_polygon=[list(corner) for corner in frame] if frame else None,
        frame_how=carried.how if carried else None,
    )


def _by_hand(correction: CorrectionSource, painted_share: float, uncorrected: str) -> dict[str, Any]:
    """Who corrected the photo, when, how much of the frame, and the hash of the inputs without it."""
    made = {name: getattr(correction, name) for name in ("id", "by", "on", "note")}
    counted = {"strokes": len(correction.strokes), "painted_share": painted_share}
    return made | counted | {"uncorrected_inputs_hash": uncorrected}


def _carried_frame(job: MeasureJob) -> CarriedFrame | None:
    from journal_server.measurement.frame_carry import CarriedFrame, carry_frame

    if job.frame is None:
        return None
    if job.frame.photo_id == job.photo_id:
        return CarriedFrame(job.frame.polygon, "drawn on this photo", 0.0, None)
    return carry_frame(
        _array(job.frame.polygon), _view(job.frame.path, job.frame.card_corners), _view(job.path, job.card_corners)
    )


@lru_cache(maxsize=16)  # the photo on which a frame was drawn serves all others of its planting
def _view(path: str, card_corners: tuple[tuple[float, float], ...] | None) -> View:
    from journal_server.measurement.landmarks import View
    from journal_server.measurement.photo_file import luminance, open_photo

    photo = open_photo(path)
    corners = _array(card_corners) if card_corners else None
    return View(photo.width, photo.height, corners, luminance(photo, LANDMARK_PIXELS))


def _array(corners: Sequence[Sequence[float]]) -> npt.NDArray[np.float64]:
    return np.array(corners, float)


def _extent(corners: Sequence[Sequence[float]]) -> float:
    return float(np.ptp(_array(corners), axis=0).max())


def _overlay(path: str, classes: npt.NDArray[np.float32], frame: Corners) -> bytes:
    from journal_server.measurement.overlay import draw_overlay
    from journal_server.measurement.photo_file import open_photo, render

    photo = open_photo(path)
    shown = np.asarray(render(photo, OVERLAY_PX))
    scale = shown.shape[1] / photo.width
    return draw_overlay(shown, classes, _array(frame) * scale if frame else None)
