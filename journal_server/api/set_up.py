"""Setting up a trial: printed cards, settings."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import body, journal, whole_argument
from journal_server.services.cards import MOST_SPARE, choose_cards, print_cards
from journal_server.settings import SETTINGS

blueprint = Blueprint("set_up", __name__)


@blueprint.get("/cards.pdf")
def cards() -> Response:
    """``planting`` may be given several times; ``plantings=none`` asks for spare cards alone."""
    given = request.args.getlist("planting")
    chosen = given if given or request.args.get("plantings") == "none" else None
    spare = whole_argument("spare", 0, 0, MOST_SPARE)
    made = print_cards(journal(), choose_cards(journal(), chosen, spare=spare), request.args.get("paper"))
    headers = {"Content-Disposition": 'inline; filename="cards.pdf"', "Cache-Control": "no-store"}
    return Response(made, mimetype="application/pdf", headers=headers)


@blueprint.get("/settings")
def read_settings() -> Response:
    now = journal().settings()
    rows = [
        {
            "name": name,
            "label": setting.label,
            "value": now[name],
            "default": setting.default(),
            "choices": setting.choices,
            "help": setting.help,
            "group": setting.group,
            "on_or_off": setting.on_or_off,
        }
        for name, setting in SETTINGS.items()
    ]
    return jsonify({"settings": rows})


@blueprint.post("/settings")
def change_settings() -> Response:
    journal().change_settings(body())
    return read_settings()
