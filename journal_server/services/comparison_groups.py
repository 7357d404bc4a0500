"""Which plantings stand for what when they are compared: cultivars, places, years, tries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.survival import GIVEN_UP_DAYS, PlantCount, Survival, survival
from journal_server.domain.cultivar_names import cultivar_words
from journal_server.domain.dates import full_day_words
from journal_server.domain.verdict_fields import PLACE_WORDS
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_record, load_records

WAYS = ("cultivar", "ground", "light", "year", "try")
"""Ways to group plantings. All but the first are about one cultivar."""

OFF_TYPE = "off-type flower"
LIGHT_NOT_SAID = "light not said"


@dataclass(frozen=True)
class Planted:
    """A planting with all that grouping and counting look at."""

    planting_id: str
    cultivar_id: str
    trial_id: str
    name: str
    place: str
    planted_on: date
    removed_on: date | None
    standard: bool
    year: int
    in_ground: bool
    light: str
    survival: Survival
    off_types: int


@dataclass(frozen=True)
class PlantingGroup:
    """Plantings that stand for one thing, with its key and its name."""

    key: str
    label: str
    members: tuple[Planted, ...]


def load_planted(journal: Journal, *, trial_id: str | None = None, cultivar_id: str | None = None) -> list[Planted]:
    """Every planting (of one trial, of one cultivar), with its place, its year, its survival and off-type flowers."""
    wanted = {"trial_id": trial_id, "cultivar_id": cultivar_id}
    with journal.database.reading() as session:
        plantings = load_records(session, "planting", equals={k: v for k, v in wanted.items() if v is not None})
        fields = {kind: _fields_by_id(session, kind) for kind in ("cultivar", "planter", "trial")}
        counts = _by_planting(load_records(session, "plant_count"))
        off_types = _by_planting(load_records(session, "finding", equals={"what": OFF_TYPE}))
    return [_planted(planting, fields, counts, off_types) for planting in plantings]


def load_survival(journal: Journal, planting_id: str) -> Survival:
    """Plants living of those planted, of one planting."""
    with journal.database.reading() as session:
        planting = load_record(session, planting_id)
        counts = load_records(session, "plant_count", equals={"planting_id": planting_id})
    return survival(planting.fields["plants"] if planting else None, [_count(one.fields) for one in counts])


def group_plantings(planted: Sequence[Planted], way: str) -> list[PlantingGroup]:
    """Groups in a lasting order; keys are ids or plain words. Raises KeyError for an unknown way."""
    if way == "try":
        return _tries(planted)
    keyed = {"cultivar": _by_cultivar, "ground": _by_ground, "light": _by_light, "year": _by_year}[way]
    members: dict[tuple[str, str], list[Planted]] = {}
    for one in sorted(planted, key=lambda one: one.year):
        members.setdefault(keyed(one), []).append(one)
    return [PlantingGroup(key, label, tuple(those)) for (key, label), those in members.items()]


def cultivars_to_compare(planted: Sequence[Planted], way: str) -> list[dict[str, Any]]:
    """Cultivars that have something to compare in this way: at least two groups."""
    own: dict[str, list[Planted]] = {}
    for one in planted:
        own.setdefault(one.cultivar_id, []).append(one)
    found = []
    for cultivar_id, those in own.items():
        groups = group_plantings(those, way)
        if len(groups) > 1:
            found.append({"id": cultivar_id, "name": those[0].name, "groups": [group.label for group in groups]})
    return sorted(found, key=lambda one: str(one["name"]))


def _planted(
    planting: Record,
    fields: dict[str, dict[str, dict[str, Any]]],
    counts: dict[str, list[dict[str, Any]]],
    off_types: dict[str, list[dict[str, Any]]],
) -> Planted:
    own = planting.fields
    cultivar, planter = fields["cultivar"][own["cultivar_id"]], fields["planter"][own["planter_id"]]
    return Planted(
        planting_id=planting.id,
        cultivar_id=own["cultivar_id"],
        trial_id=own["trial_id"],
        name=cultivar_words(cultivar["genus"], cultivar["name"]),
        place=planter["name"],
        planted_on=date.fromisoformat(own["planted_on"]),
        removed_on=date.fromisoformat(own["removed_on"]) if own["removed_on"] else None,
        standard=bool(cultivar["standard"]),
        year=fields["trial"][own["trial_id"]]["year"],
        in_ground=planter["planter_kind"] == "bed",
        light="afternoon shade" if planter["afternoon_shade"] else planter["exposure"] or LIGHT_NOT_SAID,
        survival=survival(own["plants"], [_count(one) for one in counts.get(planting.id, [])]),
        off_types=len(off_types.get(planting.id, [])),
    )


def _count(fields: dict[str, Any]) -> PlantCount:
    return PlantCount(date.fromisoformat(fields["counted_on"]), fields["plants"], fields["reason"])


def _fields_by_id(session: Session, kind: str) -> dict[str, dict[str, Any]]:
    return {record.id: record.fields for record in load_records(session, kind, with_deleted=True)}


def _by_planting(records: Sequence[Record]) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for record in records:
        found.setdefault(record.fields["planting_id"], []).append(record.fields)
    return found


def _by_cultivar(one: Planted) -> tuple[str, str]:
    return one.cultivar_id, one.name


def _by_ground(one: Planted) -> tuple[str, str]:
    place = "ground" if one.in_ground else "container"
    return place, PLACE_WORDS[place]


def _by_light(one: Planted) -> tuple[str, str]:
    return one.light, one.light if one.light == LIGHT_NOT_SAID else f"in {one.light}"


def _by_year(one: Planted) -> tuple[str, str]:
    return str(one.year), str(one.year)


def _tries(planted: Sequence[Planted]) -> list[PlantingGroup]:
    """The plantings of a cultivar that failed, and those planted later than the first of them, in order of time.

    What was planted beside one that failed, on the same day or before, and stood, is no further try.
    """
    failures = [one.planted_on for one in planted if _failed(one)]
    tries = [one for one in planted if _failed(one) or (failures and one.planted_on > min(failures))]
    groups = []
    for number, one in enumerate(sorted(tries, key=lambda one: (one.planted_on, one.place, one.planting_id)), start=1):
        ended = f", removed {full_day_words(one.removed_on)}" if one.removed_on else ""
        label = f"try {number}: {one.place}, planted {full_day_words(one.planted_on)}{ended}"
        groups.append(PlantingGroup(one.planting_id, label, (one,)))
    return groups


def _failed(one: Planted) -> bool:
    """Most plants died, or the planting was given up before a season was half over."""
    if one.removed_on is not None and (one.removed_on - one.planted_on).days < GIVEN_UP_DAYS:
        return True
    return one.survival.living == 0 or (one.survival.share is not None and one.survival.share.value <= 0.5)
