"""Carrying the matching rules of the domain out on the stored photos, again whenever what they rest on changes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.cultivar_names import words_of_fields
from journal_server.domain.matching import (
    Match,
    PhotoFacts,
    Placed,
    PlantingFacts,
    Plantings,
    match_by_card,
    match_by_walk,
)
from journal_server.domain.visit_matching import match_by_visit
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_by_ids, load_record, load_records, save_record

BY_PERSON = ("set by hand", "set aside")
DECIDING_FIELDS = {
    "planting": {"card_code", "planted_on", "removed_on", "planter_id", "cultivar_id"},
    "planter": {"walk_order"},
}
WAITING = {"measuring": "waiting", "measuring_note": None}


def rematch_after_change(journal: Journal, touched: Iterable[Record]) -> None:
    """After edits: match again what no person has settled, and let what the measurements rest on follow."""
    touched = list(touched)
    kinds = {record.kind for record in touched}
    with journal.database.writing() as session:
        if any(_decides_matches(record) for record in touched):
            rematch(session, None)
        elif kinds & {"photo", "visit"}:
            visits = [record.id for record in touched if record.kind == "visit"]
            of_visits = load_records(session, "photo", among={"visit_id": visits}) if visits else []
            rematch(session, {day_of(photo) for photo in (*touched, *of_visits) if photo.kind == "photo"})
        if kinds & {"planting", "photo", "frame", "cultivar", "correction"}:
            ask_for_measuring(session, touched)


def _decides_matches(record: Record) -> bool:
    """Whether the last change of a planting or planter may move photos; its other fields move none."""
    changed = {name for name, version in record.field_versions.items() if version == record.version}
    deciding = DECIDING_FIELDS.get(record.kind, set())
    return bool(deciding and (not changed or changed & deciding))  # none changed: deleted or put back


def rematch(session: Session, days: set[date | None] | None) -> None:
    """Match all photos of the given days (or all) again, except those a person has settled."""
    if days is None or None in days:
        photos = load_records(session, "photo")
    else:
        photos = [p for day in days for p in load_records(session, "photo", begins={"taken_at": str(day)})]
    plantings = Plantings(planting_facts(session))
    for day, of_day in _by_day(photos).items():
        if days is None or day in days:
            _rematch_day(session, of_day, plantings)


def _rematch_day(session: Session, photos: Sequence[Record], plantings: Plantings) -> None:
    photos = [_named_planting_arrived(session, photo, plantings) for photo in photos]
    found: dict[str, Match] = {}
    open_photos = [p for p in photos if p.fields["match"] not in BY_PERSON]
    visits = _visits_of(session, open_photos)
    for photo in open_photos:
        facts, visit = photo_facts(photo), visits.get(photo.fields.get("visit_id") or "")
        by_visit = (
            match_by_visit(facts, visit.fields["planting_id"], plantings) if visit and not visit.deleted else None
        )
        sure = by_visit or match_by_card(facts, plantings)
        if sure:
            found[photo.id] = sure
    placed = [
        Placed(p.id, moment, planting_id)
        for p in photos
        if (moment := photo_facts(p).taken_at) and (planting_id := _planting_of(p, found))
    ]
    unplaced = [photo_facts(p) for p in open_photos if p.id not in found]
    for facts in unplaced:
        found[facts.id] = match_by_walk(facts, unplaced, placed, plantings.all)
    for photo in open_photos:
        match = found[photo.id]
        _save_match(session, photo, replace(match, reason=match.reason + _what_is_missing(photo, visits)))


def placed_by_person(session: Session, planting_id: str) -> dict[str, Any]:
    """The fields of a photo whose planting a person named; one that is not here yet is remembered until it is."""
    planting = load_record(session, planting_id)
    if planting is None or planting.kind != "planting" or planting.deleted:
        return {"named_planting_id": planting_id}
    return {
        "planting_id": planting_id,
        "named_planting_id": None,
        "set_aside": False,
        "match": "set by hand",
        "match_reason": "Set by hand.",
        "suggested_planting_id": None,
        "choices": [],
    }


def _named_planting_arrived(session: Session, photo: Record, plantings: Plantings) -> Record:
    named = photo.fields.get("named_planting_id")
    if not named or photo.fields["match"] in BY_PERSON or named not in plantings.by_id:
        return photo
    return save_record(session, "photo", photo.id, placed_by_person(session, named) | WAITING)


def _visits_of(session: Session, photos: Sequence[Record]) -> dict[str, Record]:
    ids = {p.fields["visit_id"] for p in photos if p.fields.get("visit_id")}
    return {record.id: record for record in load_by_ids(session, ids) if record.kind == "visit"} if ids else {}


def _what_is_missing(photo: Record, visits: Mapping[str, Record]) -> str:
    """The sentences for what the phone said about a photo and the journal cannot use."""
    visit_id, says = photo.fields.get("visit_id"), ""
    if visit_id and visit_id not in visits:
        says += " The visit it was taken on has not arrived here yet."
    elif visit_id and visits[visit_id].deleted:
        says += " The visit it was taken on was deleted."
    if photo.fields.get("named_planting_id"):
        says += " A person named a planting for it that is not in this journal."
    return says


def _planting_of(photo: Record, found: dict[str, Match]) -> str | None:
    if photo.fields["match"] == "set by hand":
        planting_id: str | None = photo.fields["planting_id"]
        return planting_id
    return found[photo.id].planting_id if photo.id in found else None


def _save_match(session: Session, photo: Record, match: Match) -> None:
    fields: dict[str, Any] = {
        "match": match.state,
        "planting_id": match.planting_id,
        "match_reason": match.reason,
        "suggested_planting_id": match.suggestion,
        "choices": list(match.choices),
    }
    if any(photo.fields.get(name) != value for name, value in fields.items()):
        moved = photo.fields.get("planting_id") != match.planting_id
        save_record(session, "photo", photo.id, fields | (WAITING if moved else {}))


def ask_for_measuring(session: Session, touched: Sequence[Record]) -> None:
    """Mark the photos whose measurement rests on what was touched; the measuring itself finds out what differs."""
    ids = {record.id for record in touched if record.kind in ("planting", "cultivar")}
    plantings = {r.id for r in load_records(session, "planting") if r.id in ids or r.fields["cultivar_id"] in ids}
    plantings |= {r.fields["planting_id"] for r in touched if r.kind == "frame"}
    photos = [
        p for planting_id in plantings for p in load_records(session, "photo", equals={"planting_id": planting_id})
    ]
    photos += [record for record in touched if record.kind == "photo"]
    photos += load_by_ids(session, {r.fields["photo_id"] for r in touched if r.kind == "correction"})
    for photo in {p.id: p for p in photos}.values():
        if photo.fields.get("measuring") in ("done", "failed"):
            save_record(session, "photo", photo.id, WAITING)


def planting_facts(session: Session) -> list[PlantingFacts]:
    planters = {r.id: r for r in load_records(session, "planter")}
    cultivars = {r.id: r for r in load_records(session, "cultivar")}
    return [
        PlantingFacts(
            id=r.id,
            card_code=r.fields["card_code"],
            planted_on=date.fromisoformat(r.fields["planted_on"]),
            removed_on=date.fromisoformat(r.fields["removed_on"]) if r.fields["removed_on"] else None,
            walk_order=planters[r.fields["planter_id"]].fields["walk_order"] or 0.0,
            name=words_of_fields(cultivars[r.fields["cultivar_id"]].fields),
        )
        for r in load_records(session, "planting")
    ]


def photo_facts(photo: Record) -> PhotoFacts:
    taken_at = photo.fields["taken_at"]
    return PhotoFacts(
        id=photo.id,
        taken_at=datetime.fromisoformat(taken_at) if taken_at else None,
        moment_doubtful=bool(photo.fields["taken_at_doubtful"]),
        codes=tuple(photo.fields["tags"]),
    )


def day_of(photo: Record) -> date | None:
    """The day on which a photo was taken, by the clock where it was taken."""
    taken_at = photo.fields["taken_at"]
    return datetime.fromisoformat(taken_at).date() if taken_at else None


def _by_day(photos: Sequence[Record]) -> dict[date | None, list[Record]]:
    days: dict[date | None, list[Record]] = {}
    for photo in photos:
        days.setdefault(day_of(photo), []).append(photo)
    return days
