"""Lists of plantings: pasted for quick entry, or any CSV with its columns chosen."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, jsonify

from journal_server.api.answers import (
    body,
    checked,
    chosen_columns,
    file_text,
    flag,
    journal,
    trial_of,
    wake_measuring,
)
from journal_server.domain.field_checks import day, one_of, text
from journal_server.domain.planting_table import COLUMNS
from journal_server.domain.records import PLANTER_KINDS
from journal_server.domain.written_days import DATE_ORDERS
from journal_server.errors import InputRefused
from journal_server.services.planting_import import ListChoices, import_planting_list
from journal_server.services.planting_list import enter_planting_list

blueprint = Blueprint("planting_lists", __name__)

LONGEST_LIST, LONGEST_FILE, WIDEST_FILE = 200_000, 800_000, 400


@blueprint.post("/planting-list")
def planting_list() -> tuple[Response, int]:
    given = body()
    trial_id, words = trial_of(given), file_text(given, LONGEST_LIST)
    planted_on = given.get("planted_on")
    if planted_on is not None and not isinstance(planted_on, str):
        raise InputRefused("This must be a date like 2026-05-16.", "planted_on")
    dry_run = flag(given, "dry_run", default=True)
    outcome = enter_planting_list(journal(), trial_id, words, planted_on or None, dry_run=dry_run)
    wake_measuring()
    return jsonify(outcome.as_dict()), 422 if outcome.has_errors and not dry_run else 200


@blueprint.post("/planting-list/import")
def import_file() -> tuple[Response, int]:
    given = body()
    dry_run = flag(given, "dry_run", default=True)
    trial_id, words = trial_of(given), file_text(given, LONGEST_FILE)
    outcome = import_planting_list(journal(), trial_id, words, _choices(given), dry_run=dry_run)
    wake_measuring()
    return jsonify(outcome.as_dict()), 422 if outcome.has_errors and not dry_run else 200


def _choices(given: dict[str, Any]) -> ListChoices:
    has_headings = None if given.get("has_headings") is None else flag(given, "has_headings", default=True)
    return ListChoices(
        columns=chosen_columns(given, COLUMNS, WIDEST_FILE),
        has_headings=has_headings,
        date_order=checked(given, "date_order", one_of(*DATE_ORDERS)),
        planted_on=checked(given, "planted_on", day()),
        genus=checked(given, "genus", text(60)),
        planter_name=checked(given, "planter_name", text(60)),
        planter_kind=checked(given, "planter_kind", one_of(*PLANTER_KINDS)),
        again=flag(given, "again", default=False),
    )
