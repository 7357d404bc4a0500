"""Photos: taking them in, and their pictures. Pictures are served only as types that the journal made or decoded."""

from __future__ import annotations

import re
from dataclasses import asdict
from datetime import datetime

from flask import Blueprint, Response, jsonify, request, send_file

from journal_server.api.answers import body, chosen_photos, journal, wake_measuring
from journal_server.domain.field_checks import record_id
from journal_server.errors import InputRefused, NotFound
from journal_server.measurement.overlay import LEGEND
from journal_server.services.from_phone import said_by_phone
from journal_server.services.measure_again import measure_again
from journal_server.services.measuring_inputs import overlay_name, plan_measuring
from journal_server.services.photo_history import photo_history
from journal_server.services.take_in_photo import RENDITIONS, picture, take_in_photo
from journal_server.storage.records import load_photo_file, load_record
from journal_server.storage.tables import PhotoFileRow

blueprint = Blueprint("photos", __name__)

MIME_TYPES = {
    ".jpg": "image/jpeg", ".heic": "image/heic", ".png": "image/png", ".webp": "image/webp", ".tif": "image/tiff",
}  # fmt: skip
OTHER_SUFFIXES = {".jpg": (".jpeg",), ".heic": (".heif",), ".tif": (".tiff",)}
UNCHANGING = "private, max-age=31536000, immutable"


@blueprint.post("/photos")
def take_in() -> tuple[Response, int]:
    sent = request.files.get("photo")
    if sent is None:
        raise InputRefused("The photo itself is missing from the request.", "photo")
    taken = take_in_photo(
        journal(),
        sent.stream.read(),
        sent.filename or "photo",
        file_time=_file_time(request.form.get("file_time")),
        said=said_by_phone(request.form),
    )
    wake_measuring()
    return jsonify(taken.as_dict()), 201 if taken.outcome == "taken in" else 200


@blueprint.get("/photos/<photo_id>/picture")
def photo_picture(photo_id: str) -> Response:
    size = request.args.get("size", "screen")
    if size not in RENDITIONS:
        raise InputRefused(f"The size must be one of: {', '.join(RENDITIONS)}.", "size")
    file = _file(photo_id)
    made = picture(journal(), file.sha256, file.suffix, size)
    return Response(made, mimetype="image/jpeg", headers={"Cache-Control": UNCHANGING})


@blueprint.get("/photos/<photo_id>/classes")
def photo_classes(photo_id: str) -> Response:
    file = _file(photo_id)
    inputs_hash = request.args.get("of")
    if inputs_hash is None:
        job = plan_measuring(journal(), photo_id)
        inputs_hash = job.inputs_hash if job else ""
    elif not re.fullmatch("[0-9a-f]{64}", inputs_hash):
        raise InputRefused("This must be the inputs_hash of a measurement of the photo.", "of")
    path = journal().files.derived_file(file.sha256, overlay_name(inputs_hash))
    if not path.exists():
        raise NotFound("This photo has not been measured so, or its class map is not kept any more.")
    response = send_file(path, mimetype="image/webp", conditional=True)
    response.headers["Cache-Control"] = UNCHANGING if "of" in request.args else "no-cache"
    return response


@blueprint.get("/photos/<photo_id>/measurements")
def photo_measurements(photo_id: str) -> Response:
    photo = _file(photo_id).photo_id
    return jsonify({"photo_id": photo, "measurements": photo_history(journal(), photo)})


@blueprint.post("/measure-again")
def ask_again() -> Response:
    asked = measure_again(journal(), chosen_photos(body()))
    wake_measuring()
    return jsonify({"asked": asked})


@blueprint.get("/legend")
def legend() -> Response:
    return jsonify({"legend": [asdict(entry) for entry in LEGEND]})


@blueprint.get("/photos/<photo_id>/original")
def photo_original(photo_id: str) -> Response:
    file = _file(photo_id)
    with journal().database.reading() as session:
        photo = load_record(session, photo_id)
    if photo is None:
        raise NotFound("There is no such photo.")
    path = journal().files.original(file.sha256, file.suffix)
    if not path.exists():
        raise NotFound("The original file is missing from the data folder; restore it from a backup.")
    name = _name_of_its_type(photo.fields["file_name"], file.suffix)
    return send_file(path, mimetype=MIME_TYPES[file.suffix], as_attachment=True, download_name=name)


def _name_of_its_type(name: str, suffix: str) -> str:
    """Where a photo came by the name of a page or a program, it is not saved as one: a file may be both."""
    return name if name.lower().endswith((suffix, *OTHER_SUFFIXES.get(suffix, ()))) else f"{name}{suffix}"


def _file(photo_id: str) -> PhotoFileRow:
    try:
        known_form = record_id(photo_id)
    except InputRefused:
        raise NotFound("There is no such photo.") from None
    with journal().database.reading() as session:
        file = load_photo_file(session, known_form)
    if file is None:
        raise NotFound("There is no such photo.")
    return file


def _file_time(given: str | None) -> datetime | None:
    if not given:
        return None
    try:
        parsed = datetime.fromisoformat(given)
        if parsed.tzinfo is None:
            raise ValueError
        parsed.timestamp()
    except (ValueError, OverflowError, OSError):
        raise InputRefused(
            "This must be a moment with its offset, like 2026-06-12T10:14:03+01:00.", "file_time"
        ) from None
    return parsed
