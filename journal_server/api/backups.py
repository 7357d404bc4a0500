"""The backups into a folder: what there is, what failed, and one now."""

from __future__ import annotations

from flask import Blueprint, Response, current_app, jsonify

from journal_server.api.answers import journal
from journal_server.errors import InputRefused
from journal_server.services.backup.schedule import BackupKeeper, describe_backups

blueprint = Blueprint("backups", __name__)


def _keeper() -> BackupKeeper | None:
    found: BackupKeeper | None = current_app.extensions["backups"]
    return found


@blueprint.get("/backups")
def backups() -> Response:
    return jsonify(describe_backups(journal(), _keeper()))


@blueprint.post("/backups")
def back_up_now() -> tuple[Response, int]:
    """Begins one; how far it is, and whether it failed, is asked of the call above."""
    keeper = _keeper()
    if keeper is None:
        raise InputRefused("This server makes no backups; run “journal-server backup FILE”.")
    keeper.ask()
    return jsonify(describe_backups(journal(), keeper)), 202
