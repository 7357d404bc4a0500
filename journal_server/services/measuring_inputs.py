"""What the measurement of one photo rests on, gathered from the records: the same inputs give the same numbers."""

from __future__ import annotations

import hashlib
import json
import uuid
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from journal_server.measurement import segmentation
from journal_server.measurement.hand_correction import Stroke
from journal_server.measurement.measure import METHOD_VERSION
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_photo_file, load_record, load_records

METHOD = f"{segmentation.METHOD}, measure {METHOD_VERSION}"
"""The method in use. When it changes, every photo is measured anew in the background and the old numbers are kept."""

_NAMESPACE = uuid.UUID("6f1c9c0e-51f6-4c1e-9d0c-3b7c4c3f7a10")


def overlay_name(inputs_hash: str) -> str:
    """By which name the class map drawn over the photo is kept."""
    return f"overlay-{inputs_hash[:16]}.webp"


@dataclass(frozen=True)
class FrameSource:
    """The frame as drawn, and the photo on which it was drawn."""

    photo_id: str
    path: str
    polygon: tuple[tuple[float, float], ...]
    card_corners: tuple[tuple[float, float], ...] | None


@dataclass(frozen=True)
class CorrectionSource:
    """What a person painted over the class map, by whom and when."""

    id: str
    strokes: tuple[Stroke, ...]
    by: str | None
    on: str
    note: str | None


@dataclass(frozen=True)
class MeasureJob:
    photo_id: str
    planting_id: str | None
    path: str
    file_name: str
    sha256: str
    taken_at: str | None
    taken_at_source: str | None
    card_corners: tuple[tuple[float, float], ...] | None
    frame: FrameSource | None
    bloom_colours: tuple[str, ...] = ()
    foliage_colours: tuple[str, ...] = ()
    plants: int | None = None
    correction: CorrectionSource | None = None
    method: str = METHOD

    @property
    def basis_hash(self) -> str:
        """What the numbers rest on beside the method; without a correction as it was before there were any."""
        basis = asdict(self)
        del basis["path"], basis["method"]
        if basis["correction"] is None:
            del basis["correction"]
        if basis["frame"]:
            del basis["frame"]["path"]
        return hashlib.sha256(json.dumps(basis, sort_keys=True).encode()).hexdigest()

    @property
    def inputs_hash(self) -> str:
        return hashlib.sha256(f"{self.method} {self.basis_hash}".encode()).hexdigest()

    @property
    def uncorrected(self) -> MeasureJob:
        """The same without what was painted by hand: as the method alone measures."""
        return replace(self, correction=None)

    @property
    def measurement_id(self) -> str:
        return str(uuid.uuid5(_NAMESPACE, f"{self.photo_id} {self.inputs_hash}"))

    @property
    def overlay_name(self) -> str:
        return overlay_name(self.inputs_hash)

    @property
    def classes_name(self) -> str:
        return f"classes-{self.inputs_hash[:16]}.png"


@dataclass(frozen=True)
class MeasureOutcome:
    """Numbers, overlay and class map, or the sentence that says why there are none.

    ``classes`` is a greyscale PNG of the class map's grid; each pixel is the place of its likeliest class in
    ``segmentation.CLASSES``. The two ``_uncorrected`` are as the method alone saw it, where a person painted over it.
    """

    numbers: dict[str, Any] | None = None
    overlay: bytes | None = None
    classes: bytes | None = None
    overlay_uncorrected: bytes | None = None
    classes_uncorrected: bytes | None = None
    frame_polygon: list[list[float]] | None = None
    frame_how: str | None = None
    failure: str | None = None


def plan_measuring(journal: Journal, photo_id: str, session: Session | None = None) -> MeasureJob | None:
    """The job for one photo as the records stand now; None when there is no such photo."""
    if session is None:
        with journal.database.reading() as opened:
            return plan_measuring(journal, photo_id, opened)
    photo, file = load_record(session, photo_id), load_photo_file(session, photo_id)
    if photo is None or file is None:
        return None
    planting_id = photo.fields.get("planting_id")
    planting = load_record(session, planting_id) if planting_id else None
    cultivar = load_record(session, planting.fields["cultivar_id"]) if planting else None
    return MeasureJob(
        photo_id=photo_id,
        planting_id=planting_id,
        path=str(journal.files.place_of_original(file.sha256, file.suffix)),
        file_name=photo.fields["file_name"],
        sha256=file.sha256,
        taken_at=photo.fields["taken_at"],
        taken_at_source=photo.fields["taken_at_source"],
        card_corners=_corners(photo),
        frame=_frame_source(journal, session, photo) if planting else None,
        bloom_colours=tuple(cultivar.fields["bloom_colours"] if cultivar else ()),
        foliage_colours=tuple(cultivar.fields["foliage_colours"] if cultivar else ()),
        plants=planting.fields["plants"] if planting else None,
        correction=_correction(session, photo_id),
    )


def _correction(session: Session, photo_id: str) -> CorrectionSource | None:
    """The newest correction of the photo: where two phones made one each, the later to arrive counts."""
    made = load_records(session, "correction", equals={"photo_id": photo_id})
    if not made:
        return None
    fields = made[-1].fields
    return CorrectionSource(
        id=made[-1].id,
        strokes=tuple(
            Stroke(stroke["class"], stroke["width"], tuple((x, y) for x, y in stroke["points"]))
            for stroke in fields["strokes"]
        ),
        by=fields["corrected_by"],
        on=fields["corrected_on"],
        note=fields["note"],
    )


def _corners(photo: Record) -> tuple[tuple[float, float], ...] | None:
    corners = photo.fields.get("card_corners")
    return tuple((c[0], c[1]) for c in corners) if corners else None


def _frame_source(journal: Journal, session: Session, photo: Record) -> FrameSource | None:
    """The frame drawn on this photo, else the planting's frame drawn nearest in time, rather where a card was read."""
    frames = load_records(session, "frame", equals={"planting_id": photo.fields["planting_id"]})
    drawn = {r.fields["photo_id"]: r for r in frames}
    candidates = [p for p in (load_record(session, photo_id) for photo_id in drawn) if p is not None]
    if not candidates:
        return None
    chosen = min(
        candidates,
        key=lambda p: (p.id != photo.id, p.fields.get("card_corners") is None, _days_apart(p, photo), p.id),
    )
    file = load_photo_file(session, chosen.id)
    assert file is not None
    return FrameSource(
        photo_id=chosen.id,
        path=str(journal.files.place_of_original(file.sha256, file.suffix)),
        polygon=tuple((x, y) for x, y in drawn[chosen.id].fields["polygon"]),
        card_corners=_corners(chosen),
    )


def _days_apart(a: Record, b: Record) -> float:
    moments = [r.fields.get("taken_at") for r in (a, b)]
    if None in moments:
        return float("inf")
    first, second = (datetime.fromisoformat(str(m)) for m in moments)
    return abs((first - second).total_seconds()) / 86400
