"""Setting up a trial: printed cards, settings."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import body, journal
from journal_server.services.cards import cards_of, draw_cards
from journal_server.settings import SETTINGS

blueprint = Blueprint("set_up", __name__)


@blueprint.get("/cards.pdf")
def cards() -> Response:
    paper = request.args.get("paper") or journal().setting("paper")
    made = draw_cards(cards_of(journal(), request.args.getlist("planting")), paper)
    headers = {"Content-Disposition": 'inline; filename="cards.pdf"'}
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
        }
        for name, setting in SETTINGS.items()
    ]
    return jsonify({"settings": rows})


@blueprint.post("/settings")
def change_settings() -> Response:
    journal().change_settings(body())
    return read_settings()
