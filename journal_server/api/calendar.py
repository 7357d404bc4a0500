"""Care due as a calendar, and the addresses at which calendar programs find it."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, jsonify, request

from journal_server.api.access import CALENDAR, door, roots
from journal_server.api.answers import body, journal
from journal_server.errors import NotPaired
from journal_server.services import keyed_addresses as keyed
from journal_server.services.calendar import care_calendar

blueprint = Blueprint("calendar", __name__)


@blueprint.get(CALENDAR.removeprefix("/api"))
def calendar() -> Response:
    trial_id, key = request.args.get("trial", ""), request.args.get("key")
    now = datetime.now(UTC)
    if key is not None:
        opened = keyed.opened_by(journal(), keyed.CALENDAR, key, request.remote_addr or "", now)
        if opened.trial_id != trial_id:
            raise NotPaired(keyed.NOT_OPEN[keyed.CALENDAR])
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
    with journal().database.writing() as session:
        made = keyed.make_address(session, keyed.CALENDAR, given.get("name"), given.get("trial_id"), datetime.now(UTC))
    asked = urlencode({"trial": made.kept.trial_id, "key": made.key})
    urls = [f"{root.rstrip('/')}{CALENDAR}?{asked}" for root in roots()]
    answer = jsonify({"made": asdict(made.kept), "urls": urls, **_listed()})
    answer.headers["Cache-Control"] = "no-store"
    return answer, 201


@blueprint.delete("/calendar-addresses/<key_id>")
def revoke_address(key_id: str) -> Response:
    keyed.close_address(journal(), keyed.CALENDAR, key_id, datetime.now(UTC))
    return addresses()


def _listed() -> dict[str, Any]:
    return {"addresses": [asdict(one) for one in keyed.addresses(journal(), keyed.CALENDAR)], "lan": door() is not None}
