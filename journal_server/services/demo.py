"""The demo journal: the sample season set up and taken in by the same code path as any other."""

from __future__ import annotations

import csv
import json
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from journal_server.services.apply_changes import apply_changes
from journal_server.services.demo_verdicts import verdict_changes
from journal_server.services.demo_walks import walk_changes
from journal_server.services.home import unsettled
from journal_server.services.journal import Journal
from journal_server.services.matching import BY_PERSON
from journal_server.services.settle import accept_suggestions
from journal_server.services.take_in_photo import take_in_file
from journal_server.storage.records import load_records

_NAMESPACE = uuid.UUID("0f4c2a52-9f0d-4a0e-8a26-0a4b2a9b6c11")
LEFT_IN_THE_TRAY_FROM = "2026-08-01"
"""Suggestions before this day are accepted, as the person would have; the last walks' wait in the tray."""


def fill_demo(journal: Journal, folder: Path, tell: Callable[[int, int], None] = lambda done, total: None) -> None:
    """Set the sample trial up and take its photos in; what is there already is left alone."""
    season = json.loads((folder / "season.json").read_text(encoding="utf-8"))
    photos = sorted(folder.glob("*.jpg"), key=lambda p: (p.stem.split("_")[1], p.stem))
    if demo_is_complete(journal, len(photos)):
        return
    set_up_demo(journal, folder, season)
    photo_ids: dict[str, str] = {}
    for done, path in enumerate(photos):
        photo_ids[path.name] = take_in_file(journal, path).photo.id
        tell(done + 1, len(photos))
    _apply(journal, _frames(season, photo_ids))
    _accept_early_suggestions(journal)


def set_up_demo(journal: Journal, folder: Path, season: dict[str, Any]) -> None:
    """All of the sample season but its photos."""
    journal.change_settings({"time_zone": season["time_zone"]})
    _apply(journal, _setting_up(season))
    planting_ids = {planting["code"]: _id("planting", planting["code"]) for planting in season["plantings"]}
    _apply(journal, walk_changes(folder, _id("trial"), planting_ids, _id))
    _apply(journal, _care_and_weather(folder, planting_ids))


def write_demo_verdicts(journal: Journal, folder: Path) -> None:
    """What the sample's gardener concluded; once its photos are measured. What was changed or deleted stays so."""
    _apply(journal, verdict_changes(journal, folder, _id))


def demo_is_complete(journal: Journal, photos: int) -> bool:
    with journal.database.reading() as session:
        return (
            len(load_records(session, "photo")) >= photos
            and len(load_records(session, "frame")) > 0
            and any(p.fields["match"] in BY_PERSON for p in load_records(session, "photo"))
        )


def _apply(journal: Journal, changes: list[dict[str, Any]]) -> None:
    for result in apply_changes(journal, changes):
        if result.errors:
            raise ValueError(f"the sample season does not fit the journal: {result.errors[0]}")


def _id(*parts: str) -> str:
    return str(uuid.uuid5(_NAMESPACE, "/".join(parts)))


def _change(kind: str, identity: str, **fields: Any) -> dict[str, Any]:
    return {"kind": kind, "id": identity, "fields": fields}


def _setting_up(season: dict[str, Any]) -> list[dict[str, Any]]:
    trial_id = _id("trial")
    changes = [_change("trial", trial_id, **season["trial"])]
    for order, planting in enumerate(season["plantings"], start=1):
        code = planting["code"]
        changes += [
            _change("cultivar", _id("cultivar", code), **planting["cultivar"]),
            _change("planter", _id("planter", code), trial_id=trial_id, walk_order=order, **planting["planter"]),
            _change(
                "planting",
                _id("planting", code),
                trial_id=trial_id,
                planter_id=_id("planter", code),
                cultivar_id=_id("cultivar", code),
                **{name: planting[name] for name in ("planted_on", "plants", "card_code")},
            ),
        ]
    return changes


def _care_and_weather(folder: Path, planting_ids: dict[str, str]) -> list[dict[str, Any]]:
    changes = []
    for row in _rows(folder / "care.csv"):
        fields = {"done_on": row["date"], "action": row["action"], "note": row["note"]}
        planting_id = planting_ids.get(row["planting"])
        identity = _id("care", *row.values())
        changes.append(_change("care", identity, trial_id=_id("trial"), planting_id=planting_id, **fields))
    for row in _rows(folder / "weather.csv"):
        numbers = {name: float(row[name]) for name in ("tmin_c", "tmax_c", "rain_mm")}
        changes.append(_change("weather", _id("day", row["date"]), trial_id=_id("trial"), day=row["date"], **numbers))
    return changes


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _frames(season: dict[str, Any], photo_ids: dict[str, str]) -> list[dict[str, Any]]:
    return [
        _change(
            "frame",
            _id("frame", planting["code"]),
            planting_id=_id("planting", planting["code"]),
            photo_id=photo_ids[planting["frame"]["photo"]],
            polygon=planting["frame"]["polygon"],
        )
        for planting in season["plantings"]
    ]


def _accept_early_suggestions(journal: Journal) -> None:
    with journal.database.reading() as session:
        waiting = unsettled(load_records(session, "photo"))
    accept_suggestions(journal, [p.id for p in waiting if (p.fields["taken_at"] or "") < LEFT_IN_THE_TRAY_FROM])
