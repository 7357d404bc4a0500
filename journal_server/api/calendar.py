"""Care due as a calendar, and the addresses at which calendar programs find it."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, jsonify, request

from journal_server.api.access import CALENDAR, door
from journal_server.api.answers import body, journal
from journal_server.errors import NotPaired
from journal_server.services.calendar import care_calendar
from journal_server.services.calendar_keys import (
    NOT_OPEN,
    calendar_keys,
    make_calendar_key,
    revoke_calendar_key,
    trial_of_key,
)

blueprint = Blueprint("calendar", __name__)


@blueprint.get(CALENDAR.removeprefix("/api"))
def calendar() -> Response:
    trial_id, key = request.args.get("trial", ""), request.args.get("key")
    now = datetime.now(UTC)
    if key is not None and trial_of_key(journal(), key, now) != trial_id:
        raise NotPaired(NOT_OPEN)
    answer = Response(care_calendar(journal(), trial_id, now), content_type="text/calendar; charset=utf-8")
    answer.headers["Content-Disposition"] = 'inline; filename="care.ics"'
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer


@blueprint.get("/calendar-addresses")
def addresses() -> Response:
    return jsonify(_listed())


@blueprint.post("/calendar-addresses")
def make_address() -> tuple[Response, int]:
    given = body()
    made = make_calendar_key(journal(), given.get("trial_id"), given.get("name"), datetime.now(UTC))
    asked = urlencode({"trial": made.kept.trial_id, "key": made.key})
    urls = [f"{root.rstrip('/')}{CALENDAR}?{asked}" for root in _roots()]
    answer = jsonify({"made": asdict(made.kept), "urls": urls, **_listed()})
    answer.headers["Cache-Control"] = "no-store"
    return answer, 201


@blueprint.delete("/calendar-addresses/<key_id>")
def revoke_address(key_id: str) -> Response:
    revoke_calendar_key(journal(), key_id, datetime.now(UTC))
    return addresses()


def _listed() -> dict[str, Any]:
    return {"addresses": [asdict(key) for key in calendar_keys(journal())], "lan": door() is not None}


def _roots() -> list[str]:
    """By which the journal is reached from the network, or else on this computer alone."""
    lan = door()
    return lan.addresses() if lan else [request.host_url]
