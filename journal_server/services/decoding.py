"""Photos are decoded in processes of their own: a file that crashes, hangs or fills a decoder costs that file alone."""

from __future__ import annotations

import gc
import io
import logging
import queue
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from typing import Any, ParamSpec, TypeVar

from journal_server.errors import PhotoRefused
from journal_server.measurement.card import read_cards
from journal_server.measurement.moment import CameraFacts, Moment, camera_facts, read_exif, read_moment
from journal_server.measurement.photo_file import Photo, PhotoSource, luminance, open_photo, render
from journal_server.services.child_process import (
    ChildProcess,
    EndedUnexpectedly,
    TookTooLong,
    answer_jobs,
    limit_memory,
)

AT_ONCE = 2
"""Large photos are decoded a few at a time, so that many uploads at once do not fill the memory."""
LONGEST_S = 60.0
"""The largest accepted photos take a few seconds, on a slow computer several times that."""
IDLE_S = 600.0
"""So long a process waits for the next photo before it gives its memory back."""
MOST_BYTES = 3 << 30
"""Of memory for one decoder; the largest accepted pictures (102 megapixels with transparency) take up to 1.7 GB."""
THUMB_PX = 320

Given = ParamSpec("Given")
Made = TypeVar("Made")
Job = Callable[[], Any]

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class ReadPhoto:
    """All that taking a photo in asks of decoders; ``thumb`` is a small JPEG, upright and without metadata."""

    format: str
    width: int
    height: int
    moment: Moment
    camera: CameraFacts
    codes: list[str]
    card_corners: list[list[float]] | None
    thumb: bytes


def read_photo(content: bytes, name: str, file_time_s: float | None, zone: str) -> ReadPhoto:
    """What a photo's bytes say. Raises PhotoRefused."""
    photo = open_photo(io.BytesIO(content))
    tags = read_exif(photo.exif)
    cards = read_cards(luminance(photo)).cards
    return ReadPhoto(
        format=photo.format,
        width=photo.width,
        height=photo.height,
        moment=read_moment(tags, name, file_time_s, zone),
        camera=camera_facts(tags),
        codes=[card.code for card in cards],
        card_corners=cards[0].corners.round(2).tolist() if cards else None,
        thumb=_jpeg(photo, THUMB_PX),
    )


def smaller_jpeg(source: PhotoSource, longest_side: int) -> bytes:
    """The photo as a JPEG, upright, in sRGB, without metadata. Raises PhotoRefused."""
    return _jpeg(open_photo(source), longest_side)


def _jpeg(photo: Photo, longest_side: int) -> bytes:
    out = io.BytesIO()
    render(photo, longest_side).save(out, "JPEG", quality=88)
    return out.getvalue()


class DecodingRoom:
    """A few child processes that decode, begun when they are needed and gone when they are not."""

    def __init__(
        self,
        at_once: int = AT_ONCE,
        longest_s: float = LONGEST_S,
        most_bytes: int = MOST_BYTES,
        idle_s: float = IDLE_S,
    ) -> None:
        self._longest_s = longest_s
        self._free: queue.LifoQueue[ChildProcess] = queue.LifoQueue()  # the last one used is warm
        for _ in range(at_once):
            self._free.put(ChildProcess(partial(_decode_jobs, most_bytes=most_bytes, idle_s=idle_s), longest_s))

    def call(self, function: Callable[Given, Made], *given: Given.args, **named: Given.kwargs) -> Made:
        """What the function makes of these arguments, in a process of its own.

        Raises what it raises, and PhotoRefused where it crashes, hangs or runs out of memory.
        """
        child = self._free.get()
        made: Made
        try:
            made, error = self._ask(child, partial(function, *given, **named))
        finally:
            self._free.put(child)
        if error is not None:
            raise error
        return made

    def stop(self) -> None:
        for child in [self._free.get() for _ in range(self._free.qsize())]:
            child.stop()
            self._free.put(child)

    def _ask(self, child: ChildProcess, job: Job) -> Any:
        try:
            try:
                return child.ask(job)
            except EndedUnexpectedly as ended:  # perhaps through no fault of the photo: the system ends processes too
                log.warning("A decoding process ended unexpectedly (%s); the photo is tried once more.", ended)
                return child.ask(job)
        except EndedUnexpectedly:
            raise PhotoRefused("The photo cannot be read: the program that decodes photos breaks down at it.") from None
        except TookTooLong:
            raise PhotoRefused(f"Reading the photo took over {self._longest_s:.0f} seconds and was given up.") from None


def _decode_jobs(pipe: Connection, most_bytes: int, idle_s: float) -> None:
    limit_memory(most_bytes)
    gc.freeze()  # what stays is not looked through after every photo
    answer_jobs(pipe, _answer, idle_s)


def _answer(job: Job) -> tuple[Any, Exception | None]:
    made, error = _made(job)
    gc.collect()  # pictures that only a cycle holds would count against the next one
    return made, error


def _made(job: Job) -> tuple[Any, Exception | None]:
    try:
        return job(), None
    except MemoryError:
        return None, PhotoRefused("The picture is too large for this computer's memory.")
    except Exception as error:
        return None, error


decode_apart = DecodingRoom().call
