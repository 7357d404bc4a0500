"""Photos that a person has counted points on, each held against what the method alone measured of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from journal_server.analysis.agreement import ComparedShare
from journal_server.analysis.point_count import (
    CLASSES,
    COUNTED_SHARES,
    PointTally,
    confusion,
    counted_share,
    counting_variance,
    tally_of,
)
from journal_server.analysis.series import FOR_ITS_LEAVES, SHARES_OF_BLOOM
from journal_server.measurement import segmentation
from journal_server.measurement.class_map import classes_at
from journal_server.measurement.frame import overlap
from journal_server.measurement.result import Estimate
from journal_server.services.class_maps import class_map
from journal_server.services.journal import Journal
from journal_server.services.measuring_inputs import MeasureJob, plan_measuring
from journal_server.services.season import estimate_of
from journal_server.storage.records import Record, find_measurement, load_by_ids, load_record, load_records

SAME_FRAME = 0.9
"""From this overlap (shared area over both together) on, two frames count as one: so far a carried frame may wander."""

FRAME_MOVED = "the frame was drawn anew after this count, so the points lie in another area"
NOT_MEASURED = "the photo has not been measured yet"
ONLY_BY_HAND = "only the measurement corrected by hand is kept, and this is about the method alone"
UNUSABLE = "the photo cannot be used, so its numbers are left out of the season"

_SEEN_AS = {"bloom": "bloom", "spent": "spent", "foliage": "foliage"}


@dataclass(frozen=True)
class AuditedPhoto:
    """A counted photo; its counts are taken together, as all their points lie at random in one frame.

    ``reasons`` says by share why it is not compared; ``reason`` why nothing of this photo is. ``points`` are x, y, what
    the person said (a letter) and what the method saw (a class).
    """

    photo: Record
    counts: tuple[Record, ...]
    tally: PointTally
    counted: dict[str, Estimate | None]
    measured: dict[str, Estimate | None] = field(default_factory=dict)
    compared: dict[str, ComparedShare] = field(default_factory=dict)
    reasons: dict[str, str] = field(default_factory=dict)
    reason: str | None = None
    method: str | None = None
    table: tuple[tuple[int, ...], ...] | None = None
    points: tuple[tuple[float, float, str, str], ...] = ()


@dataclass(frozen=True)
class _Measured:
    numbers: dict[str, Any]
    frame: list[list[float]] | None


def audited_photos(journal: Journal, trial_id: str | None = None) -> list[AuditedPhoto]:
    """Photos of the plantings of a trial (or of all) with a count that was ended, in order of time."""
    with journal.database.reading() as session:
        ended = [count for count in load_records(session, "point_count") if count.fields["ended"]]
        photos = {p.id: p for p in load_by_ids(session, {c.fields["photo_id"] for c in ended})}
        plantings = {p.id: p for p in load_by_ids(session, {str(p.fields["planting_id"]) for p in photos.values()})}
    shown = [
        photo
        for photo in photos.values()
        if (planting := plantings.get(photo.fields["planting_id"])) and trial_id in (None, planting.fields["trial_id"])
    ]
    shown.sort(key=lambda photo: (photo.fields["taken_at"] or "", photo.id))
    return [_audited(journal, photo, [c for c in ended if c.fields["photo_id"] == photo.id]) for photo in shown]


def audited_photo(journal: Journal, photo_id: str) -> AuditedPhoto | None:
    """One photo's counts that were ended; None where there are none."""
    with journal.database.reading() as session:
        photo = load_record(session, photo_id)
        counts = load_records(session, "point_count", equals={"photo_id": photo_id})
    ended = [count for count in counts if count.fields["ended"]]
    return _audited(journal, photo, ended) if photo and ended else None


def begun_counts(journal: Journal) -> list[Record]:
    """Counts that were begun and not ended yet."""
    with journal.database.reading() as session:
        return [count for count in load_records(session, "point_count") if not count.fields["ended"]]


def _audited(journal: Journal, photo: Record, counts: Sequence[Record]) -> AuditedPhoto:
    job = plan_measuring(journal, photo.id)
    measured, reason = _measured_by_the_method(journal, photo, job)
    usable = [count for count in counts if measured is None or _in_the_same_frame(photo, count, measured.frame)]
    told = usable or list(counts)
    tally = sum((tally_of(count.fields["answers"]) for count in told), start=PointTally())
    counted = {name: counted_share(tally, name)[0] for name in COUNTED_SHARES}
    table, points = _point_by_point(journal, photo, job, told)
    if measured is not None and not usable:
        reason = FRAME_MOVED
    if measured is None or reason:
        return AuditedPhoto(photo, tuple(told), tally, counted, reason=reason, table=table, points=points)
    estimates = {name: estimate_of(measured.numbers.get(name)) for name in COUNTED_SHARES}
    reasons = dict(_reasons(journal, photo, tally, measured.numbers))
    compared = {
        name: ComparedShare(photo.id, mine, theirs, counting_variance(tally, name))
        for name in COUNTED_SHARES
        if name not in reasons and (mine := counted[name]) and (theirs := estimates[name])
    }
    method = measured.numbers.get("method")
    return AuditedPhoto(
        photo, tuple(told), tally, counted, estimates, compared, reasons, None, method, table, points
    )  # fmt: skip


def _measured_by_the_method(
    journal: Journal, photo: Record, job: MeasureJob | None
) -> tuple[_Measured | None, str | None]:
    """What the method alone measured with the inputs of now, or why that is not known."""
    if job is None:
        return None, NOT_MEASURED
    with journal.database.reading() as session:
        row = find_measurement(session, photo.id, job.uncorrected.inputs_hash)
        found = _Measured(row.numbers, row.frame_polygon) if row else None
    if found is None:
        failed = photo.fields["measuring"] == "failed"
        note = f"the photo could not be measured: {photo.fields['measuring_note']}" if failed else NOT_MEASURED
        by_hand = job.correction is not None and photo.fields["measuring"] == "done"
        return None, ONLY_BY_HAND if by_hand else note.rstrip(".")
    return found, None if found.numbers["quality"]["usable"] else UNUSABLE


def _in_the_same_frame(photo: Record, count: Record, frame: list[list[float]] | None) -> bool:
    laid_in = count.fields["polygon"]
    if laid_in is None or frame is None:
        return laid_in is None and frame is None
    width, height = photo.fields["width"], photo.fields["height"]
    return overlap(np.array(laid_in, float), np.array(frame, float), width, height) >= SAME_FRAME


def _point_by_point(
    journal: Journal, photo: Record, job: MeasureJob | None, counts: Sequence[Record]
) -> tuple[tuple[tuple[int, ...], ...] | None, tuple[tuple[float, float, str, str], ...]]:
    likeliest = class_map(journal, job) if job else None
    if likeliest is None:
        return None, ()
    laid = [point for count in counts for point in count.fields["points"]]
    said = "".join(count.fields["answers"] for count in counts)
    found = classes_at(likeliest, laid, photo.fields["width"], photo.fields["height"])
    seen = [_SEEN_AS.get(segmentation.CLASSES[place], CLASSES[-1]) for place in found]
    points = tuple((x, y, letter, word) for (x, y), letter, word in zip(laid, said, seen, strict=True))
    return confusion(said, seen), points


def _reasons(journal: Journal, photo: Record, tally: PointTally, numbers: dict[str, Any]) -> Iterable[tuple[str, str]]:
    foliage_only = _is_grown_for_its_leaves(journal, photo)
    for name in COUNTED_SHARES:
        _, not_counted = counted_share(tally, name)
        if foliage_only and name in SHARES_OF_BLOOM:
            yield name, FOR_ITS_LEAVES
        elif not_counted:
            yield name, not_counted
        elif numbers.get(name) is None:
            yield name, str(numbers.get("reasons", {}).get(name, "the method gave no number")).rstrip(".")


def _is_grown_for_its_leaves(journal: Journal, photo: Record) -> bool:
    with journal.database.reading() as session:
        planting = load_record(session, photo.fields["planting_id"]) if photo.fields["planting_id"] else None
        cultivar = load_record(session, planting.fields["cultivar_id"]) if planting else None
    return bool(cultivar and cultivar.fields["foliage_only"])
