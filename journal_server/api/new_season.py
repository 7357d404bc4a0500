"""A new season from an old one: looked at first, then written."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Blueprint, Response, jsonify

from journal_server.api.answers import body, checked, flag, journal, wake_measuring
from journal_server.domain.field_checks import EARLIEST_YEAR, LATEST_YEAR, day, one_of, text, whole
from journal_server.errors import InputRefused
from journal_server.services.new_season import CARDS, SAME_CARDS, SeasonChoices, copy_season

blueprint = Blueprint("new_season", __name__)


@blueprint.post("/trials/<trial_id>/new-season")
def new_season(trial_id: str) -> tuple[Response, int]:
    given = body()
    dry_run = flag(given, "dry_run", default=True)
    season = copy_season(journal(), trial_id, _choices(given), dry_run=dry_run)
    wake_measuring()
    return jsonify(season.as_dict()), 422 if season.has_errors and not dry_run else 200


def _choices(given: dict[str, Any]) -> SeasonChoices:
    planted_on, remove_on = (checked(given, name, day()) for name in ("planted_on", "remove_on"))
    return SeasonChoices(
        title=checked(given, "title", text(120, required=True)),
        year=checked(given, "year", whole(EARLIEST_YEAR, LATEST_YEAR, required=True)),
        planted_on=date.fromisoformat(planted_on) if planted_on else None,
        plantings=_ids(given.get("plantings")),
        cards=checked(given, "cards", one_of(*CARDS)) or SAME_CARDS,
        plans=flag(given, "plans", default=True),
        remove_on=date.fromisoformat(remove_on) if remove_on else None,
    )


def _ids(given: Any) -> frozenset[str] | None:
    if given is None:
        return None
    if not isinstance(given, list) or not all(isinstance(one, str) for one in given):
        raise InputRefused("This must be a list of ids of plantings.", "plantings")
    return frozenset(given)
