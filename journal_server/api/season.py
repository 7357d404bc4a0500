"""The season: figures, the tables behind them, the numbers."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import journal, whole_argument
from journal_server.errors import InputRefused
from journal_server.services.method_change import describe_method_change
from journal_server.services.planting_summary import planting_summary
from journal_server.services.season_figures import all_curves, planting_figure, planting_rows
from journal_server.services.timeline import Order, timeline_figure, timeline_rows

blueprint = Blueprint("season", __name__)


def _width() -> int:
    return whole_argument("width", 390, 240, 2400)


def _trial() -> str:
    trial_id = request.args.get("trial")
    if not trial_id:
        raise InputRefused("Say which trial.", "trial")
    return trial_id


def _order() -> Order:
    return Order(request.args.get("sort") or "walk", request.args.get("group") or "none")


def _svg(drawn: str) -> Response:
    return Response(drawn, mimetype="image/svg+xml")


@blueprint.get("/timeline.svg")
def timeline_svg() -> Response:
    return _svg(timeline_figure(journal(), _trial(), _width(), _order()))


@blueprint.get("/timeline")
def timeline() -> Response:
    return jsonify(timeline_rows(journal(), _trial(), _order()).as_dict())


@blueprint.get("/plantings/<planting_id>/curves")
def curves(planting_id: str) -> Response:
    return jsonify({"curves": all_curves(journal(), planting_id, _width())})


@blueprint.get("/plantings/<planting_id>/curves/<quantity>.svg")
def curve_svg(planting_id: str, quantity: str) -> Response:
    return _svg(planting_figure(journal(), planting_id, quantity, _width()))


@blueprint.get("/plantings/<planting_id>/curves/<quantity>")
def curve(planting_id: str, quantity: str) -> Response:
    return jsonify(planting_rows(journal(), planting_id, quantity).as_dict())


@blueprint.get("/plantings/<planting_id>/summary")
def summary(planting_id: str) -> Response:
    return jsonify(planting_summary(journal(), planting_id))


@blueprint.get("/method-change")
def method_change() -> Response:
    return jsonify(describe_method_change(journal()))
