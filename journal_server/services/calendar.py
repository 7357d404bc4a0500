"""What care is due as a calendar: nothing else of the journal goes into it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from journal_server.domain.calendar_text import AllDayEvent, calendar_text
from journal_server.domain.care_due import CareDone, CareDue, CarePlan, Standing, care_ahead
from journal_server.domain.dates import full_day_words
from journal_server.domain.derived_ids import derived_id
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_records

DAYS_AHEAD = 60
MADE_BY = "-//Planting trial journal//Care due//EN"
MOST_NAMED = 12

DUE_WORDS = {
    "fed": "Feed", "sprayed": "Spray", "deadheaded": "Deadhead", "trimmed": "Trim", "watered": "Water",
    "repaired": "Look at the dripper", "planted": "Plant", "noted": "Note",
}  # fmt: skip


def care_calendar(journal: Journal, trial_id: str, now: datetime) -> str:
    """The care due in a trial today and in the next weeks, one event for each plan and day, as iCalendar text."""
    today = now.astimezone(ZoneInfo(journal.setting("time_zone"))).date()
    with journal.database.reading() as session:
        trial = existing(session, "trial", trial_id)
        of_trial = {kind: load_records(session, kind, equals={"trial_id": trial_id}) for kind in _KINDS}
        cultivars = load_records(session, "cultivar")
    due = care_ahead(
        [plan_of(record) for record in of_trial["care_plan"]],
        [done_of(record) for record in of_trial["care"]],
        [standing_of(record) for record in of_trial["planting"]],
        today,
        today + timedelta(days=DAYS_AHEAD),
    )
    names = _names(of_trial["planting"], of_trial["planter"], cultivars)
    products = {record.id: record.fields["product"] for record in of_trial["care_plan"]}
    events = _events(due, today, names, products, trial_id)
    return calendar_text(f"Care: {trial.fields['title']}", events, now, MADE_BY)


_KINDS = ("care_plan", "care", "planting", "planter")


def plan_of(record: Record) -> CarePlan:
    f = record.fields
    return CarePlan(
        record.id,
        f["trial_id"],
        f["planting_id"],
        f["action"],
        f["every_days"],
        _day(f["begins_on"]),
        _day(f["ends_on"]),
    )


def done_of(record: Record) -> CareDone:
    f = record.fields
    return CareDone(f["trial_id"], f["planting_id"], f["action"], date.fromisoformat(f["done_on"]))


def standing_of(record: Record) -> Standing:
    f = record.fields
    return Standing(record.id, f["trial_id"], date.fromisoformat(f["planted_on"]), _day(f["removed_on"]))


def _events(
    due: Sequence[CareDue], today: date, names: Mapping[str, str], products: Mapping[str, str | None], trial_id: str
) -> list[AllDayEvent]:
    """Plans of one action and product that fall on one day are one event, by whatever plans they came to be."""
    together: dict[tuple[date, str, str], list[CareDue]] = {}
    for one in due:
        together.setdefault((one.due_on, one.action, products.get(one.plan_id) or ""), []).append(one)
    return [_event(key, those, today, names, trial_id) for key, those in together.items()]


def _event(
    key: tuple[date, str, str], due: Sequence[CareDue], today: date, names: Mapping[str, str], trial_id: str
) -> AllDayEvent:
    due_on, action, product = key
    what = DUE_WORDS[action] + (f" ({product})" if product else "")
    where = [names[one.planting_id] for one in due]
    whom = where[0] if len(where) == 1 else f"{len(where)} plantings"
    overdue = f"Overdue since {full_day_words(due_on)}. " if due_on < today else ""
    more = f" and {len(where) - MOST_NAMED} more" if len(where) > MOST_NAMED else ""
    return AllDayEvent(
        derived_id("care due", trial_id, action, product, due_on.isoformat()),
        max(due_on, today),
        f"{what}: {whom}" + (" (overdue)" if overdue else ""),
        f"{overdue}{'; '.join(where[:MOST_NAMED])}{more}.",
    )


def _names(plantings: Sequence[Record], planters: Sequence[Record], cultivars: Sequence[Record]) -> dict[str, str]:
    places: dict[str, Any] = {record.id: record.fields["name"] for record in planters}
    kinds: dict[str, Any] = {record.id: record.fields["name"] for record in cultivars}
    return {
        p.id: f"{places.get(p.fields['planter_id'], 'a planter')}, {kinds.get(p.fields['cultivar_id'], 'a planting')}"
        for p in plantings
    }


def _day(iso: str | None) -> date | None:
    return date.fromisoformat(iso) if iso else None
