"""A new season from an old one: planters, plantings and care plans copied; cultivars are used again."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.field_checks import EARLIEST_YEAR, LATEST_YEAR, whole
from journal_server.domain.records import KINDS
from journal_server.errors import InputRefused
from journal_server.services.apply_changes import Change, apply_change
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.matching import rematch_after_change
from journal_server.storage.records import Record, load_records

SAME_CARDS, FRESH_CARDS = "same", "fresh"
CARDS = (SAME_CARDS, FRESH_CARDS)


@dataclass(frozen=True)
class SeasonChoices:
    """``planted_on`` None: each on its own day of the year. ``plantings`` None: all of them."""

    title: str
    year: int
    planted_on: date | None = None
    plantings: frozenset[str] | None = None
    cards: str = SAME_CARDS
    plans: bool = True
    remove_on: date | None = None
    """The day on which what still stands of the old season is removed; None leaves it standing."""


@dataclass
class Copied:
    """One record of the new season, whence it came, and what is wrong with it."""

    kind: str
    copied_from: str
    fields: dict[str, Any]
    record: Record | None = None
    errors: list[InputRefused] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        errors = [{"field": e.field, "message": str(e)} for e in self.errors]
        return {"kind": self.kind, "copied_from": self.copied_from, "fields": self.fields, "errors": errors}


@dataclass
class NewSeason:
    copied: list[Copied] = field(default_factory=list)
    removed: int = 0
    trial_id: str | None = None
    """Of the new trial, once it is written."""

    @property
    def has_errors(self) -> bool:
        return any(one.errors for one in self.copied)

    def as_dict(self) -> dict[str, Any]:
        return {"copied": [one.as_dict() for one in self.copied], "removed": self.removed, "trial_id": self.trial_id}


class _Undo(Exception):
    """Leaves the transaction without keeping anything."""


def copy_season(journal: Journal, trial_id: str, choices: SeasonChoices, *, dry_run: bool) -> NewSeason:
    """Copy the set-up, checked by really writing it, and keep it only if all is well and it is meant."""
    _check_year(choices.year)
    season = NewSeason()
    touched: list[Record] = []
    try:
        with journal.database.writing() as session:
            old = existing(session, "trial", trial_id)
            touched += _remove_what_stands(session, old, choices, season)
            new_trial = _copy(session, season, old, {"title": choices.title, "year": choices.year})
            if new_trial:
                _copy_all(session, season, old, new_trial, choices)
            if dry_run or season.has_errors:
                raise _Undo
    except _Undo:
        return season
    season.trial_id = new_trial.id if new_trial else None
    rematch_after_change(journal, [*touched, *(one.record for one in season.copied if one.record)])
    return season


def _copy_all(session: Session, season: NewSeason, old: Record, new_trial: Record, choices: SeasonChoices) -> None:
    shift = choices.year - old.fields["year"]
    of_old = {
        kind: load_records(session, kind, equals={"trial_id": old.id}) for kind in ("planter", "planting", "care_plan")
    }
    if choices.plantings is not None and not choices.plantings <= {planting.id for planting in of_old["planting"]}:
        raise InputRefused("One of the chosen plantings is not of this season; choose again.", "plantings")
    new_ids: dict[str, str] = {}
    for planter in sorted(of_old["planter"], key=lambda p: p.fields["walk_order"] or 0):
        made = _copy(session, season, planter, {"trial_id": new_trial.id})
        new_ids |= {planter.id: made.id} if made else {}
    for planting in _in_walking_order(of_old["planting"], of_old["planter"]):
        if choices.plantings is None or planting.id in choices.plantings:
            made = _copy(session, season, planting, _next_planting(planting, new_trial, new_ids, choices, shift))
            new_ids |= {planting.id: made.id} if made else {}
    for plan in of_old["care_plan"] if choices.plans else ():
        of_planting = plan.fields["planting_id"]
        if of_planting is None or of_planting in new_ids:
            fields = {"trial_id": new_trial.id, "planting_id": new_ids.get(of_planting or "")}
            days = {name: _moved(plan.fields[name], shift) for name in ("begins_on", "ends_on")}
            _copy(session, season, plan, fields | days)


def _next_planting(
    planting: Record, new_trial: Record, new_ids: dict[str, str], choices: SeasonChoices, shift: int
) -> dict[str, Any]:
    """What was of last season alone (its removal, its note) does not go along; doubt about what it is does."""
    own_day = _moved(planting.fields["planted_on"], shift)
    return {
        "trial_id": new_trial.id,
        "planter_id": new_ids.get(planting.fields["planter_id"]),
        "planted_on": choices.planted_on.isoformat() if choices.planted_on else own_day,
        "removed_on": None,
        "card_code": planting.fields["card_code"] if choices.cards == SAME_CARDS else None,
        "note": None,
    }


def _copy(session: Session, season: NewSeason, old: Record, changed: dict[str, Any]) -> Record | None:
    """Write the copy; what was refused stays with it, to be told."""
    editable = {name: old.fields.get(name) for name, spec in KINDS[old.kind].items() if spec.editable}
    fields = editable | changed
    result = apply_change(session, Change(old.kind, str(uuid.uuid4()), fields))
    record = None if result.errors else result.record
    season.copied.append(Copied(old.kind, old.id, fields, record, list(result.errors)))
    return record


def _remove_what_stands(session: Session, old: Record, choices: SeasonChoices, season: NewSeason) -> list[Record]:
    if choices.remove_on is None:
        return []
    removed: list[Record] = []
    for planting in load_records(session, "planting", equals={"trial_id": old.id}):
        if planting.fields["removed_on"]:
            continue
        change = Change("planting", planting.id, {"removed_on": choices.remove_on.isoformat()})
        result = apply_change(session, change)
        if result.errors:
            season.copied.append(Copied("planting", planting.id, change.fields, errors=list(result.errors)))
        elif result.record:
            removed.append(result.record)
    season.removed = len(removed)
    return removed


def _moved(iso: str | None, years: int) -> str | None:
    """The same day of the year some years on; the 29th of February falls on the 28th where there is none."""
    if iso is None:
        return None
    day = date.fromisoformat(iso)
    try:
        return day.replace(year=day.year + years).isoformat()
    except ValueError:
        return (day - timedelta(days=1)).replace(year=day.year + years).isoformat()


def _in_walking_order(plantings: list[Record], planters: list[Record]) -> list[Record]:
    places = {planter.id: planter.fields["walk_order"] or 0 for planter in planters}
    return sorted(plantings, key=lambda p: (places.get(p.fields["planter_id"], 0), p.fields["planted_on"], p.id))


def _check_year(year: int) -> None:
    try:
        whole(EARLIEST_YEAR, LATEST_YEAR, required=True)(year)
    except InputRefused as error:
        raise InputRefused(str(error), "year") from None
