"""Comparing: two dates of a planting, and plantings with each other."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import checked, journal, whole_argument
from journal_server.domain.field_checks import day
from journal_server.errors import InputRefused
from journal_server.services.compare_dates import compare_dates, register_photos, registered_picture
from journal_server.services.compare_plantings import (
    LONGEST_WEEK,
    Asked,
    Compared,
    compare_plantings,
    describe_comparison,
    what_can_be_compared,
)
from journal_server.services.comparison_figures import (
    curves_figure,
    curves_rows,
    ranking_figure,
    ranking_rows,
    side_by_side,
)

blueprint = Blueprint("compare", __name__)

SOME_TIME = "private, max-age=3600"


@blueprint.get("/compare/choices")
def choices() -> Response:
    return jsonify(what_can_be_compared(journal()))


@blueprint.get("/compare/dates")
def dates() -> Response:
    return jsonify(compare_dates(journal(), *_two_photos()))


@blueprint.get("/compare/registration")
def registration() -> Response:
    return jsonify(register_photos(journal(), *_two_photos()))


@blueprint.get("/compare/registered")
def registered() -> Response:
    made = registered_picture(journal(), *_two_photos())
    return Response(made, mimetype="image/webp", headers={"Cache-Control": SOME_TIME})


@blueprint.get("/compare/plantings")
def plantings() -> Response:
    return jsonify(describe_comparison(_compared()))


@blueprint.get("/compare/side-by-side")
def everything_side_by_side() -> Response:
    return jsonify(side_by_side(_compared(), _width()))


@blueprint.get("/compare/ranking.svg")
def ranking_svg() -> Response:
    return _svg(ranking_figure(_compared(), _width()))


@blueprint.get("/compare/ranking")
def ranking() -> Response:
    return jsonify(ranking_rows(_compared()).as_dict())


@blueprint.get("/compare/curves.svg")
def curves_svg() -> Response:
    return _svg(curves_figure(_compared(), _width()))


@blueprint.get("/compare/curves")
def curves() -> Response:
    return jsonify(curves_rows(_compared()).as_dict())


def _two_photos() -> tuple[str, str]:
    first, second = request.args.get("first"), request.args.get("second")
    for name, given in (("first", first), ("second", second)):
        if not given:
            raise InputRefused(f"Say which is the {name} photo.", name)
    return str(first), str(second)


def _compared() -> Compared:
    week = whole_argument("week", 0, 0, LONGEST_WEEK) if "week" in request.args else None
    asked = Asked(
        way=request.args.get("by", "cultivar"),
        of=request.args.get("of", "canopy_fill"),
        trial_id=request.args.get("trial") or None,
        cultivar_id=request.args.get("cultivar") or None,
        week=week,
        on=_day(),
        only=tuple(request.args.getlist("only")),
        drawn=tuple(request.args.getlist("draw")),
    )
    return compare_plantings(journal(), asked)


def _day() -> date | None:
    given = checked(request.args.to_dict(), "on", day())
    return date.fromisoformat(given) if given else None


def _width() -> int:
    return whole_argument("width", 390, 240, 2400)


def _svg(drawn: str) -> Response:
    return Response(drawn, mimetype="image/svg+xml")
