"""Setting up a trial: quick entry, printed cards, settings."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import body, journal, wake_measuring
from journal_server.errors import InputRefused
from journal_server.services.cards import cards_of, draw_cards
from journal_server.services.planting_list import enter_planting_list
from journal_server.settings import SETTINGS

blueprint = Blueprint("set_up", __name__)

LONGEST_LIST = 200_000


@blueprint.post("/planting-list")
def planting_list() -> tuple[Response, int]:
    given = body()
    trial_id, text, planted_on = given.get("trial_id"), given.get("text"), given.get("planted_on")
    if not isinstance(trial_id, str):
        raise InputRefused("Choose the trial first.", "trial_id")
    if not isinstance(text, str) or len(text) > LONGEST_LIST:
        raise InputRefused(f"The list must be text of at most {LONGEST_LIST} characters.", "text")
    if planted_on is not None and not isinstance(planted_on, str):
        raise InputRefused("This must be a date like 2026-05-16.", "planted_on")
    dry_run = given.get("dry_run", True)
    if not isinstance(dry_run, bool):
        raise InputRefused("This must be true or false.", "dry_run")
    outcome = enter_planting_list(journal(), trial_id, text, planted_on, dry_run=dry_run)
    wake_measuring()
    return jsonify(outcome.as_dict()), 422 if outcome.has_errors and not dry_run else 200


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
