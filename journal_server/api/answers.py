"""What all rooms of the API share: the journal at hand, parsed bodies, the one shape of errors."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import Response, current_app, jsonify, request
from werkzeug.exceptions import BadRequest, HTTPException

from journal_server.domain.field_checks import Check, identifier
from journal_server.errors import (
    Conflict,
    InputRefused,
    JournalBusy,
    JournalDamaged,
    JournalError,
    NotAllowed,
    NotFound,
    NotPaired,
    PhotoRefused,
    RecordingRefused,
    TooManyTries,
    TransferDamaged,
)
from journal_server.services.journal import Journal

STATUS: tuple[tuple[type[JournalError], int], ...] = (
    (PhotoRefused, 422),
    (RecordingRefused, 422),
    (TransferDamaged, 400),
    (InputRefused, 422),
    (NotPaired, 401),
    (NotAllowed, 403),
    (NotFound, 404),
    (Conflict, 409),
    (TooManyTries, 429),
    (JournalBusy, 503),
    (JournalDamaged, 500),
)

MOST_JSON_BYTES = 25_000_000
"""The largest body is a file of weather, of at most 20 million characters."""
DEEPEST_JSON = 20
TOO_DEEP = "The body holds lists and objects nested too deeply."

PLAIN_HTTP = {
    400: "The request could not be read.",
    403: "This address may only be used from the journal's own pages.",
    404: "There is nothing at this address.",
    405: "This address does not do that.",
    413: "This is larger than is taken in (a photo: up to 60 MB). Nothing of it was kept here; it is safe where it is.",
    415: "The body must be JSON.",
    416: "The file has no such part.",
}


def journal() -> Journal:
    found: Journal = current_app.extensions["journal"]
    return found


def wake_measuring() -> None:
    room = current_app.extensions["measuring"]
    if room is not None:
        room.wake()


def body(most_bytes: int = MOST_JSON_BYTES) -> dict[str, Any]:
    """The JSON object that was sent."""
    request.max_content_length = most_bytes
    try:
        given = request.get_json(silent=True)
    except RecursionError:
        raise InputRefused(TOO_DEEP) from None
    if not isinstance(given, dict):
        raise InputRefused("The body must be a JSON object.")
    if _is_deeper(given, DEEPEST_JSON):
        raise InputRefused(TOO_DEEP)
    return given


def _is_deeper(given: Any, most: int) -> bool:
    """Whether lists and objects lie in each other further than that: comparing or printing them recurses."""
    level = [given]
    for _ in range(most):
        level = [
            inner
            for outer in level
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, dict | list)
        ]
        if not level:
            return False
    return True


def chosen_photos(given: dict[str, Any]) -> list[str] | None:
    """The ids under ``photo_ids``, or None where the body asks for all."""
    if given.get("all") is True:
        return None
    photo_ids = given.get("photo_ids")
    if not isinstance(photo_ids, list) or not all(isinstance(one, str) for one in photo_ids):
        raise InputRefused("Say which photos, or all.", "photo_ids")
    return photo_ids


def checked(given: dict[str, Any], name: str, check: Check) -> Any:
    """What the body gives by this name in its one written form; refused under that name."""
    try:
        return check(given.get(name))
    except InputRefused as error:
        raise InputRefused(str(error), name) from None


def chosen_columns(given: dict[str, Any], names: Sequence[str], widest: int) -> dict[str, int | None] | None:
    """Which column of a file holds what, under ``columns``: numbers from 0 or null by name; None leaves it to guess."""
    columns = given.get("columns")
    if columns is None:
        return None
    if not isinstance(columns, dict) or not set(columns) <= set(names):
        raise InputRefused(f"The columns are an object with {', '.join(names)}.", "columns")
    for name, at in columns.items():
        if at is not None and (isinstance(at, bool) or not isinstance(at, int) or not 0 <= at < widest):
            raise InputRefused("A column is its number, counted from 0, or null.", name)
    return {name: columns.get(name) for name in names}


def file_text(given: dict[str, Any], most: int) -> str:
    """The text of a file or a pasted list, under ``text``."""
    text = given.get("text")
    if not isinstance(text, str) or len(text) > most:
        raise InputRefused(f"This must be text of at most {most} characters.", "text")
    return text


def trial_of(given: dict[str, Any]) -> str:
    trial_id = checked(given, "trial_id", identifier())
    if trial_id is None:
        raise InputRefused("Choose the trial first.", "trial_id")
    return str(trial_id)


def flag(given: dict[str, Any], name: str, *, default: bool) -> bool:
    value = given.get(name, default)
    if not isinstance(value, bool):
        raise InputRefused("This must be true or false.", name)
    return value


def whole_argument(name: str, default: int, least: int, most: int) -> int:
    """A whole number from the address, within its bounds."""
    given = request.args.get(name, str(default))
    if not (given.isascii() and given.isdigit() and len(given) < 16 and least <= int(given) <= most):
        raise InputRefused(f"This must be a whole number from {least} to {most}, not {given[:40]!r}.", name)
    return int(given)


def status_of(error: JournalError) -> int:
    return next((status for kind, status in STATUS if isinstance(error, kind)), 500)


def refuse_unreadable() -> None:
    """No id, name or choice of the journal holds a NUL, and not every database can be asked for one."""
    asked = [*(request.view_args or {}).values(), *(word for pair in request.args.items(multi=True) for word in pair)]
    if any("\0" in word for word in asked):
        raise BadRequest


def note_route() -> None:
    """For the log, which names the pattern of an address and never the address."""
    if request.url_rule:
        request.environ["journal.route"] = request.url_rule.rule


def error_answer(error: Exception, status: int, error_id: str | None = None) -> tuple[Response, int]:
    if isinstance(error, JournalError):
        message, field = str(error), getattr(error, "field", None)
    elif isinstance(error, HTTPException):
        message, field = PLAIN_HTTP.get(status, error.name), None
    else:
        message = f"Something went wrong in the journal; nothing was changed. Try again. (Error {error_id})"
        field = None
    kind = type(error).__name__ if isinstance(error, JournalError) else "HttpError" if status < 500 else "Unexpected"
    return jsonify({"error": {"message": message, "field": field, "kind": kind, "details": {}}}), status
