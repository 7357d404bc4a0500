"""Things to look at: derived, read-only, kept by phones for when there is no signal."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import journal
from journal_server.domain.field_checks import day as a_day
from journal_server.errors import InputRefused
from journal_server.services.look_at import things_of_planting, things_of_trial

blueprint = Blueprint("look_at", __name__)


def _day() -> date | None:
    try:
        given = a_day()(request.args.get("day"))
    except InputRefused as error:
        raise InputRefused(str(error), "day") from None
    return date.fromisoformat(given) if given else None


@blueprint.get("/look-at")
def look_at_trial() -> Response:
    trial_id = request.args.get("trial")
    if not trial_id:
        raise InputRefused("Say which trial.", "trial")
    return jsonify(things_of_trial(journal(), trial_id, _day()))


@blueprint.get("/plantings/<planting_id>/look-at")
def look_at_planting(planting_id: str) -> Response:
    return jsonify(things_of_planting(journal(), planting_id, _day()))
