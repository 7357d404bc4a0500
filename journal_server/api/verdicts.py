"""Verdicts: what can be offered for them and how far they are. Derived, read-only; a verdict itself is a record."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import checked, journal
from journal_server.domain.field_checks import identifier, one_of
from journal_server.domain.verdict_fields import PLACES
from journal_server.services.verdicts import drafts_of_verdict, verdicts_of_trial

blueprint = Blueprint("verdicts", __name__)


@blueprint.get("/verdicts")
def verdicts() -> Response:
    return jsonify(verdicts_of_trial(journal(), checked(_asked(), "trial", identifier(required=True))))


@blueprint.get("/verdict-drafts")
def verdict_drafts() -> Response:
    asked = _asked()
    trial_id, cultivar_id = (checked(asked, name, identifier(required=True)) for name in ("trial", "cultivar"))
    return jsonify(
        drafts_of_verdict(journal(), trial_id, cultivar_id, checked(asked, "place", one_of(*PLACES, required=True)))
    )


def _asked() -> dict[str, Any]:
    return request.args.to_dict()
