"""Point counts: what one says beside the method, and how well the method agrees with all of a trial."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import journal, whole_argument
from journal_server.domain.field_checks import record_id
from journal_server.errors import InputRefused, NotFound
from journal_server.services.how_sure import agreement_figure, agreement_rows, how_sure
from journal_server.services.point_counts import photo_result

blueprint = Blueprint("point_counts", __name__)


@blueprint.get("/review/point-counts")
def of_photo() -> Response:
    return jsonify(photo_result(journal(), _given("photo", "Say which photo.")))


@blueprint.get("/review/how-sure")
def of_trial() -> Response:
    return jsonify(how_sure(journal(), _trial()))


@blueprint.get("/review/agreement.svg")
def agreement_svg() -> Response:
    width = whole_argument("width", 390, 240, 2400)
    drawn = agreement_figure(journal(), _trial(), _number(), width)
    return Response(drawn, mimetype="image/svg+xml")


@blueprint.get("/review/agreement")
def agreement_of() -> Response:
    return jsonify(agreement_rows(journal(), _trial(), _number()).as_dict())


def _trial() -> str:
    return _given("trial", "Say which trial.")


def _number() -> str:
    return request.args.get("of") or "canopy_fill"


def _given(name: str, missing: str) -> str:
    given = request.args.get(name)
    if not given:
        raise InputRefused(missing, name)
    try:
        return record_id(given)
    except InputRefused:
        raise NotFound(f"There is no such {name}.") from None
