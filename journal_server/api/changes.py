"""The change feed, and edits."""

from __future__ import annotations

import json
from typing import Any

from flask import Blueprint, Response, jsonify

from journal_server.api.access import refused_kind
from journal_server.api.answers import body, journal, wake_measuring, whole_argument
from journal_server.domain.records import CREATABLE, ID_FOLLOWS_FROM, KINDS
from journal_server.errors import InputRefused
from journal_server.services.apply_changes import ChangeResult, apply_changes
from journal_server.services.feed_identity import feed_identity
from journal_server.storage.feed import load_feed_page

blueprint = Blueprint("changes", __name__)

MOST_CHANGES = 1000


@blueprint.get("/changes")
def read_changes() -> Response:
    since = whole_argument("since", 0, 0, 2**53)
    limit = whole_argument("limit", 500, 1, 2000)
    with journal().database.reading() as session:
        page = load_feed_page(session, since, limit)
    about = json.dumps({"cursor": page.cursor, "more": page.more, **feed_identity(journal())})
    return Response(f'{{"records":[{",".join(page.records_json)}],{about[1:]}', mimetype="application/json")


@blueprint.post("/changes")
def post_changes() -> tuple[Response, int]:
    changes = body().get("changes")
    if not isinstance(changes, list) or not changes:
        raise InputRefused("The body must hold a list of changes.", "changes")
    if len(changes) > MOST_CHANGES:
        raise InputRefused(f"At most {MOST_CHANGES} changes go in at once.", "changes")
    results = _apply_allowed(changes)
    wake_measuring()
    statuses = {result.status for result in results}
    status = 422 if "refused" in statuses else 409 if "conflict" in statuses else 200
    return jsonify({"results": [result.as_dict() for result in results]}), status


def _apply_allowed(changes: list[Any]) -> list[ChangeResult]:
    """In the order of the changes; those that the caller's role does not reach are refused, the others go in."""
    refusals = [refused_kind(change) for change in changes]
    allowed = [change for change, refusal in zip(changes, refusals, strict=True) if refusal is None]
    applied = iter(apply_changes(journal(), allowed) if allowed else ())
    return [
        ChangeResult(_id_of(change), "refused", errors=(refusal,)) if refusal else next(applied)
        for change, refusal in zip(changes, refusals, strict=True)
    ]


def _id_of(change: Any) -> str:
    return str(change.get("id", "")) if isinstance(change, dict) else ""


@blueprint.get("/record-kinds")
def record_kinds() -> Response:
    kinds = {
        kind: {
            "creatable": kind in CREATABLE,
            "id_follows_from": ID_FOLLOWS_FROM.get(kind),
            "fields": {
                name: {"editable": field.editable, "refers_to": field.refers_to} for name, field in fields.items()
            },
        }
        for kind, fields in KINDS.items()
    }
    return jsonify(kinds)
