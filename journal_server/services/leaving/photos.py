"""Photos for other programs: the pictures as they are, with what they show written into them and what tells on people
taken out."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

from journal_server.errors import InputRefused, PhotoRefused
from journal_server.measurement.photo_file import Photo, open_photo, render
from journal_server.services.csv_file import csv_file
from journal_server.services.journal import Journal
from journal_server.services.leaving.jpeg_metadata import NotSegments, with_only
from journal_server.services.leaving.photo_exif import StoredPicture, exif_of
from journal_server.services.leaving.photo_words import words_of
from journal_server.services.leaving.photo_xmp import xmp_packet
from journal_server.services.leaving.plants_of_trials import Plant, load_plants
from journal_server.services.leaving.zip_stream import Member
from journal_server.services.season import measurements_that_count
from journal_server.storage.records import Record, all_photo_files, load_records

INDEX = "photos.csv"
_COLUMNS = (
    "file", "taken_at", "trial", "cultivar", "planter", "planting_id", "file_name_when_taken_in", "sha256_of_original",
    "picture", "left_out_because",
)  # fmt: skip
UNTOUCHED = "the original's own, untouched"
_QUALITY = 95


@dataclass(frozen=True)
class PhotoChoice:
    """Which photos, and what may go along. Without a trial and plantings all of the journal, matched or not."""

    trial_id: str | None = None
    planting_ids: tuple[str, ...] = ()
    first_day: date | None = None
    last_day: date | None = None
    with_place: bool = False
    """Whether GPS and the site go along."""
    with_owner: bool = False
    """Whether artist, copyright, owner and serial numbers of the camera go along."""


@dataclass(frozen=True)
class ChosenPhoto:
    record: Record
    plant: Plant | None
    measured: dict[str, Any] | None
    """The JSON of its current measurement."""
    bring: Callable[[], Path] | None
    """Gives the original, from where photos are kept."""

    @property
    def taken_at(self) -> datetime | None:
        given = self.record.fields["taken_at"]
        return datetime.fromisoformat(given) if given else None


def choose_photos(journal: Journal, choice: PhotoChoice) -> list[ChosenPhoto]:
    """The photos in walking order and order of time; those set aside are left.

    Raises NotFound where trial or planting is not there, InputRefused where no photo is left.
    """
    with journal.database.reading() as session:
        plants = {plant.id: plant for plant in load_plants(session, choice.trial_id, choice.planting_ids)}
        among = {"planting_id": list(plants)} if choice.trial_id or choice.planting_ids else None
        found = [r for r in load_records(session, "photo", among=among) if _is_wanted(r, choice)]
        measured = {id_: one["fields"] for id_, one in measurements_that_count(session, found).items()}
        originals = {f.sha256: partial(journal.files.original, f.sha256, f.suffix) for f in all_photo_files(session)}
    if not found:
        raise InputRefused("There is no such photo: nothing was taken out.")
    chosen = [
        ChosenPhoto(
            r,
            plants.get(r.fields["planting_id"]),
            _usable_numbers(measured.get(r.id)),
            originals.get(r.fields["sha256"]),
        )
        for r in found
    ]
    order = {id_: at for at, id_ in enumerate(plants)}
    return sorted(chosen, key=lambda c: (_place_in(order, c), c.record.fields["taken_at"] or "", c.record.id))


def exported_photos(
    chosen: Sequence[ChosenPhoto],
    choice: PhotoChoice,
    *,
    refused: list[str] | None = None,
    tell: Callable[[int, int], None] = lambda done, total: None,
) -> Iterator[Member]:
    """Each photo as a JPEG, then a table that says of every one what it is, or why it is not there.

    ``refused`` gets a sentence for each that cannot be written; ``tell`` is told how far it is.
    """
    rows = []
    for at, photo in enumerate(chosen, start=1):
        name = _file_name(photo)
        try:
            content, picture = _written(photo, choice)
            yield name, content
            rows.append(_row(photo, name, picture, None))
        except PhotoRefused as error:
            rows.append(_row(photo, None, None, str(error)))
            if refused is not None:
                refused.append(f"{photo.record.fields['file_name']}: {error}")
        tell(at, len(chosen))
    yield INDEX, csv_file(_COLUMNS, rows)


def _is_wanted(record: Record, choice: PhotoChoice) -> bool:
    fields = record.fields
    if fields["set_aside"]:
        return False
    if choice.first_day is None and choice.last_day is None:
        return True
    if not fields["taken_at"]:
        return False
    day = datetime.fromisoformat(fields["taken_at"]).date()
    return (choice.first_day or date.min) <= day <= (choice.last_day or date.max)


def _usable_numbers(measured: dict[str, Any] | None) -> dict[str, Any] | None:
    numbers: dict[str, Any] | None = measured["numbers"] if measured else None
    return numbers if numbers and numbers["quality"]["usable"] else None


def _place_in(order: dict[str, int], photo: ChosenPhoto) -> int:
    return order[photo.plant.id] if photo.plant else len(order)


def _file_name(photo: ChosenPhoto) -> str:
    """'trough-3_petunia-name_10654c20/2026-07-14_trough-3_petunia-name_dc9fa661.jpg'."""
    day = photo.taken_at.date().isoformat() if photo.taken_at else "undated"
    short = photo.record.fields["sha256"][:12]
    if photo.plant is None:
        return f"not-matched/{day}_{short}.jpg"
    shows = photo.plant.for_files
    return f"{shows}_{photo.plant.id[:8]}/{day}_{shows}_{short}.jpg"


def _written(photo: ChosenPhoto, choice: PhotoChoice) -> tuple[bytes, str]:
    """The JPEG, and what became of the picture.

    Raises PhotoRefused where the original is missing or damaged.
    """
    if photo.bring is None:
        raise PhotoRefused("The journal has no file of it.")
    path = photo.bring()
    original = open_photo(path)
    xmp = xmp_packet(
        words_of(photo.record.id, photo.plant, photo.taken_at, photo.measured, with_place=choice.with_place)
    )
    if original.format == "JPEG":
        try:
            exif = _exif(original, photo, choice, converted=False)
            return with_only(path.read_bytes(), exif, xmp), UNTOUCHED
        except OSError as error:
            raise PhotoRefused(f"The original cannot be read ({error.strerror}).") from error
        except NotSegments:
            pass  # an odd file that decoders still read: drawn anew, as the other kinds are
    out = io.BytesIO()
    render(original).save(out, "JPEG", quality=_QUALITY, subsampling=0)
    exif = _exif(original, photo, choice, converted=True)
    kind = (
        "an unusual JPEG"
        if original.format == "JPEG"
        else {"HEIF": "HEIC", "WEBP": "WebP"}.get(original.format, original.format)
    )
    return with_only(out.getvalue(), exif, xmp), f"converted from {kind} to JPEG, quality {_QUALITY}"


def _exif(original: Photo, photo: ChosenPhoto, choice: PhotoChoice, *, converted: bool) -> bytes:
    return exif_of(
        original.exif,
        photo.taken_at,
        _stored_as(original, converted),
        with_place=choice.with_place,
        with_owner=choice.with_owner,
    )


def _stored_as(original: Photo, converted: bool) -> StoredPicture:
    if converted:
        return StoredPicture(original.width, original.height, 1, converted=True)
    turned = original.orientation >= 5
    width, height = (original.height, original.width) if turned else (original.width, original.height)
    return StoredPicture(width, height, original.orientation, converted=False)


def _row(photo: ChosenPhoto, name: str | None, picture: str | None, why_not: str | None) -> tuple[str | None, ...]:
    fields, plant = photo.record.fields, photo.plant
    about = (plant.trial.fields["title"], plant.cultivar_words, plant.place, plant.id) if plant else (None,) * 4
    return (name, fields["taken_at"], *about, fields["file_name"], fields["sha256"], picture, why_not)
