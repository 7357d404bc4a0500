"""What Today shows: what needs settling, how far measuring is, the last walk, the last backup, who was not seen."""

from __future__ import annotations

from datetime import date
from typing import Any

from journal_server import __version__
from journal_server.services.backup.schedule import describe_state
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_records


def describe_home(journal: Journal) -> dict[str, Any]:
    settings = journal.settings()
    today = journal.today()
    backup = describe_state(journal)
    with journal.database.reading() as session:
        photos = load_records(session, "photo")
        plantings = load_records(session, "planting")
        years = {trial.id: trial.fields["year"] or 0 for trial in load_records(session, "trial", with_deleted=True)}
    states = [p.fields["measuring"] for p in photos]
    return {
        "unsettled": len(unsettled(photos)),
        "measuring": {state: states.count(state) for state in ("waiting", "done", "failed")},
        "last_walk": _last_walk(photos),
        "last_backup": backup["last_good"],
        "backup": backup,
        "not_seen": _not_seen(photos, _of_this_season(plantings, years, today), today, settings["not_seen_days"]),
        "journal": {
            "time_zone": settings["time_zone"],
            "version": __version__,
            "data_folder": str(journal.folder),
            "today": today.isoformat(),
        },
    }


def unsettled(photos: list[Record]) -> list[Record]:
    """Photos that wait for a person, in order of time."""
    waiting = [p for p in photos if p.fields["match"] in ("suggested", "question")]
    return sorted(waiting, key=lambda p: (p.fields["taken_at"] or "", p.fields["file_name"], p.id))


def _day(photo: Record) -> str | None:
    return photo.fields["taken_at"][:10] if photo.fields["taken_at"] else None


def _last_walk(photos: list[Record]) -> dict[str, Any] | None:
    placed = [p for p in photos if p.fields["planting_id"] and _day(p)]
    if not placed:
        return None
    day = max(str(_day(p)) for p in placed)
    on_that_day = [p for p in placed if _day(p) == day]
    return {
        "day": day,
        "photos": len(on_that_day),
        "plantings": len({p.fields["planting_id"] for p in on_that_day}),
    }


def _of_this_season(plantings: list[Record], years: dict[str, int], today: date) -> list[Record]:
    """Those of the latest year in which anything is planted yet: an earlier one may never have been ended."""
    begun = [p for p in plantings if p.fields["planted_on"] <= today.isoformat()]
    latest = max((years[p.fields["trial_id"]] for p in begun), default=0)
    return [p for p in begun if years[p.fields["trial_id"]] == latest]


def _not_seen(photos: list[Record], plantings: list[Record], today: date, limit: int) -> list[dict[str, Any]]:
    seen: dict[str, str] = {}
    for photo in photos:
        planting_id, day = photo.fields["planting_id"], _day(photo)
        if planting_id and day:
            seen[planting_id] = max(day, seen.get(planting_id, day))
    out = []
    for planting in plantings:
        if planting.fields["removed_on"] and planting.fields["removed_on"] < today.isoformat():
            continue
        since = seen.get(planting.id, planting.fields["planted_on"])
        days = (today - date.fromisoformat(since)).days
        if 0 < limit <= days:
            out.append({"planting_id": planting.id, "days": days, "ever": planting.id in seen})
    return sorted(out, key=lambda row: -row["days"])
