"""Things to look at on a day: a trial's records put together for the rules, and what a person answered to them."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy.orm import Session

from journal_server.analysis.look_at.rule_settings import RULE_SETTINGS
from journal_server.analysis.look_at.rules import look_at
from journal_server.analysis.look_at.things import (
    EXPLAINING_CARE,
    CareDone,
    CareOverdue,
    PhotoSeen,
    PlantsCounted,
    StandingPlanting,
    TrialDay,
    stands_on,
)
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.domain import care_due
from journal_server.domain.derived_ids import derived_id
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.look_at_quotes import quoted_things
from journal_server.services.quotes import Named
from journal_server.services.season import season_point
from journal_server.services.weather import load_weather
from journal_server.settings import LOOK_AT, units_of
from journal_server.storage.records import Record, load_by_ids, load_records, newest_seq
from journal_server.storage.season_rows import CareRow, PhotoRow, load_care_rows, load_photo_rows

IN_A_ROW = ("trough", "wall rack", "bed")
"""Planters whose plants stand side by side, so that a slot is a plant."""


_LAST: WeakKeyDictionary[Journal, tuple[Any, list[dict[str, Any]]]] = WeakKeyDictionary()
"""What was asked last of each journal and what was found: it holds until anything changes."""


@dataclass(frozen=True)
class _Records:
    """The records of one trial, those of a planting by its id."""

    cultivars: dict[str, dict[str, Any]]
    planters: dict[str, dict[str, Any]]
    photos: Mapping[str, Sequence[PhotoRow]]
    care: Mapping[str | None, Sequence[CareRow]]
    counts: Mapping[str, Sequence[Record]]
    overdue: Mapping[str, Sequence[CareOverdue]]


def things_of_trial(journal: Journal, trial_id: str, day: date | None = None) -> dict[str, Any]:
    """All things to look at in a trial on a day (today), with what was answered to each."""
    return _things(journal, trial_id, day)


def things_of_planting(journal: Journal, planting_id: str, day: date | None = None) -> dict[str, Any]:
    """Those of one planting, judged among the others of its trial."""
    with journal.database.reading() as session:
        planting = existing(session, "planting", planting_id)
    return _things(journal, planting.fields["trial_id"], day, of=(planting_id,))


def _things(journal: Journal, trial_id: str, day: date | None, of: Collection[str] | None = None) -> dict[str, Any]:
    settings = journal.settings()
    on = day or journal.today()
    with journal.database.reading() as session:
        asked = (trial_id, on, tuple(settings.items()), newest_seq(session))
        last_asked, found = _LAST.get(journal, (None, []))
        if asked != last_asked:
            found = _judge(session, trial_id, on, settings)
            _LAST[journal] = (asked, found)
        among = {"planting_id": {one["planting_id"] for one in found}}
        answers = load_records(session, "look_at_answer", among=among)
    given = {answer.id: answer.fields["answer"] for answer in answers}
    things = []
    for thing in found:
        if of is None or thing["planting_id"] in of:
            key = derived_id("look_at_answer", thing["planting_id"], thing["rule"], thing["day"])
            things.append({"key": key, **thing, "answer": given.get(key)})
    return {"day": on.isoformat(), "trial_id": trial_id, "things": things}


def _judge(session: Session, trial_id: str, on: date, settings: dict[str, Any]) -> list[dict[str, Any]]:
    trial = _trial_on(session, trial_id, on, settings)
    of_rules = {rule: settings[f"{LOOK_AT}{rule}"] for rule in RULE_SETTINGS if rule != "not_photographed"}
    found = look_at(trial, of_rules | {"not_photographed": settings["not_seen_days"]})
    names = {one.id: Named(one.season.genus, one.season.cultivar, one.season.place) for one in trial.plantings}
    return quoted_things(session, found, names)


def _trial_on(session: Session, trial_id: str, day: date, settings: dict[str, Any]) -> TrialDay:
    existing(session, "trial", trial_id)
    plantings = load_records(session, "planting", equals={"trial_id": trial_id})
    records = _load(session, trial_id, plantings, day)
    standing = [_standing(planting, records) for planting in _in_walking_order(plantings, records.planters)]
    return TrialDay(
        day,
        tuple(p for p in standing if stands_on(p, day)),
        load_weather(session, trial_id),
        settings["heat_day_c"],
        units_of(settings),
    )


def _load(session: Session, trial_id: str, plantings: Sequence[Record], day: date) -> _Records:
    ids = [p.id for p in plantings]
    photos: dict[str, list[PhotoRow]] = defaultdict(list)
    for row in load_photo_rows(session, ids):
        photos[row.planting_id].append(row)
    counts: dict[str, list[Record]] = defaultdict(list)
    for count in load_records(session, "plant_count", among={"planting_id": ids}):
        counts[count.fields["planting_id"]].append(count)
    care: dict[str | None, list[CareRow]] = defaultdict(list)
    for done in load_care_rows(session, trial_id, ids):
        care[done.planting_id].append(done)
    return _Records(
        {r.id: r.fields for r in load_by_ids(session, {p.fields["cultivar_id"] for p in plantings})},
        {r.id: r.fields for r in load_records(session, "planter", equals={"trial_id": trial_id})},
        photos,
        care,
        counts,
        _overdue(session, trial_id, plantings, care, day),
    )


def _in_walking_order(plantings: Sequence[Record], planters: Mapping[str, dict[str, Any]]) -> list[Record]:
    def place(planting: Record) -> tuple[float, str, str]:
        planter = planters.get(planting.fields["planter_id"], {})
        return (planter.get("walk_order") or 0.0, planting.fields["planted_on"], planting.id)

    return sorted(plantings, key=place)


def _overdue(
    session: Session,
    trial_id: str,
    plantings: Sequence[Record],
    care: Mapping[str | None, Sequence[CareRow]],
    day: date,
) -> dict[str, list[CareOverdue]]:
    plans = load_records(session, "care_plan", equals={"trial_id": trial_id})
    found: dict[str, list[CareOverdue]] = defaultdict(list)
    if not plans:
        return found
    product = {plan.id: plan.fields["product"] for plan in plans}
    planned_for: dict[str | None, list[care_due.CarePlan]] = defaultdict(list)
    for plan in plans:
        planned_for[plan.fields["planting_id"]].append(_plan(plan))
    for planting in plantings:  # one by one, since the rule reads all plans and all care for each planting
        begins, ends = _day(planting.fields["planted_on"]), _day_or_none(planting.fields["removed_on"])
        standing = care_due.Standing(planting.id, trial_id, begins, ends)
        plans_here = planned_for[planting.id] + planned_for[None]
        last = {row.action: row.done_on for row in _care_of(planting, care) if row.done_on <= day.isoformat()}
        done = [care_due.CareDone(trial_id, planting.id, action, _day(done_on)) for action, done_on in last.items()]
        for due in care_due.care_due(plans_here, done, [standing], day):
            found[planting.id].append(CareOverdue(due.action, due.due_on, product[due.plan_id]))
    return found


def _care_of(planting: Record, care: Mapping[str | None, Sequence[CareRow]]) -> list[CareRow]:
    """Care of the planting and of the whole trial, in order of date."""
    return sorted((*care.get(planting.id, ()), *care.get(None, ())), key=lambda row: row.done_on)


def _plan(record: Record) -> care_due.CarePlan:
    f = record.fields
    begins_on, ends_on = _day_or_none(f["begins_on"]), _day_or_none(f["ends_on"])
    return care_due.CarePlan(
        record.id, f["trial_id"], f["planting_id"], f["action"], f["every_days"], begins_on, ends_on
    )


def _standing(planting: Record, records: _Records) -> StandingPlanting:
    fields = planting.fields
    planter, rows = records.planters[fields["planter_id"]], records.photos.get(planting.id, ())
    dated = [row for row in rows if row.taken_at]
    return StandingPlanting(
        season=_season(planting, records.cultivars[fields["cultivar_id"]], planter, dated),
        cultivar_id=fields["cultivar_id"],
        full_sun=planter["exposure"] == "full sun" and not planter["afternoon_shade"],
        in_a_row=planter["planter_kind"] in IN_A_ROW,
        slots_from_top=_upright(dated),
        has_card=bool(fields["card_code"]),
        identity_doubtful=fields["identity"] == "doubtful",
        label_said=fields["label_said"],
        looks_like=fields["looks_like"],
        photos=tuple(PhotoSeen(row.photo_id, _day(row.taken_at), row.tag is not None) for row in dated),
        care=tuple(
            CareDone(_day(row.done_on), row.action)
            for row in _care_of(planting, records.care)
            if row.action in EXPLAINING_CARE
        ),
        overdue=tuple(records.overdue.get(planting.id, ())),
        counts=tuple(
            PlantsCounted(_day(c.fields["counted_on"]), c.fields["plants"], c.fields["reason"])
            for c in records.counts.get(planting.id, ())
        ),
    )


def _season(
    planting: Record, cultivar: dict[str, Any], planter: dict[str, Any], dated: Sequence[PhotoRow]
) -> PlantingSeason:
    fields = planting.fields
    measured = [row for row in dated if row.numbers_json and row.measured_as == planting.id]
    framed = [row for row in measured if row.frame_json]
    return PlantingSeason(
        planting_id=planting.id,
        cultivar=cultivar["name"],
        genus=cultivar["genus"],
        place=planter["name"],
        planted_on=_day(fields["planted_on"]),
        removed_on=_day_or_none(fields["removed_on"]),
        plants=fields["plants"],
        foliage_only=bool(cultivar["foliage_only"]),
        points=tuple(_point(row.photo_id, _day(row.taken_at), str(row.numbers_json)) for row in framed or measured),
    )


def _upright(dated: Sequence[PhotoRow]) -> bool:
    """Whether slots are counted from the top: the newest frame is higher than it is wide."""
    framed = [row for row in dated if row.frame_json]
    if not framed:
        return False
    newest = max(framed, key=lambda row: row.taken_at or "")
    across, down = zip(*json.loads(newest.frame_json or ""), strict=True)
    return bool(max(down) - min(down) > max(across) - min(across))


@lru_cache(maxsize=8192)
def _point(photo_id: str, taken_on: date, numbers_json: str) -> SeasonPoint:
    """The same numbers give the same point; from one walk to the next most are the same."""
    return season_point(photo_id, taken_on, json.loads(numbers_json))


@cache
def _parsed(text: str) -> date:
    return date.fromisoformat(text)


def _day(text: str | None) -> date:
    """The day of a date or moment; the same few days are asked for again and again."""
    return _parsed((text or "")[:10])


def _day_or_none(text: str | None) -> date | None:
    return _day(text) if text else None
