"""For what watches the server, a container or a system: whether it lives, and whether it can take photos in.

Without a key, and so without a word about the journal: no name, no count, no path.
"""

from __future__ import annotations

import os

from flask import Blueprint, Response, jsonify

from journal_server.api.answers import journal
from journal_server.errors import JournalError
from journal_server.storage.records import newest_seq

blueprint = Blueprint("health", __name__)


@blueprint.get("/health")
def health() -> Response:
    return jsonify({"status": "alive"})


@blueprint.get("/ready")
def ready() -> tuple[Response, int]:
    """503 where a photo that is sent now could not be kept."""
    if not os.access(journal().folder, os.W_OK | os.X_OK):
        return _not_ready("The data folder cannot be written.")
    try:
        with journal().database.reading() as session:
            newest_seq(session)
    except JournalError:
        return _not_ready("The database does not answer.")
    return jsonify({"status": "ready"}), 200


def _not_ready(why: str) -> tuple[Response, int]:
    return jsonify({"status": "not ready", "why": f"{why} “journal-server check” says more."}), 503
