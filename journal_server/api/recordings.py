"""Spoken remarks: taking them in, and playing them back."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request, send_file

from journal_server.api.answers import journal
from journal_server.domain.field_checks import record_id
from journal_server.errors import InputRefused, NotFound
from journal_server.services.from_phone import said_by_phone
from journal_server.services.sound_kinds import MAX_RECORDING_BYTES
from journal_server.services.take_in_recording import sound_of, take_in_recording

blueprint = Blueprint("recordings", __name__)


@blueprint.post("/recordings")
def take_in() -> tuple[Response, int]:
    sent = request.files.get("recording")
    if sent is None:
        raise InputRefused("The recording itself is missing from the request.", "recording")
    content = sent.stream.read(MAX_RECORDING_BYTES + 1)
    taken = take_in_recording(journal(), content, sent.filename or "recording", said_by_phone(request.form))
    return jsonify(taken.as_dict()), 201 if taken.outcome == "taken in" else 200


@blueprint.get("/recordings/<recording_id>/sound")
def sound(recording_id: str) -> Response:
    try:
        path, mime = sound_of(journal(), record_id(recording_id))
    except InputRefused:
        raise NotFound("There is no such recording.") from None
    response = send_file(path, mimetype=mime, conditional=True)  # answers requests for a range of bytes, as players ask
    response.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    return response
