"""Which plantings stand for what when they are compared: cultivars, places, years, tries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.comparison import Group
from journal_server.analysis.survival import PlantCount, Survival, survival
from journal_server.domain.dates import full_day_words
from journal_server.figures.words import season_name
from journal_server.services.journal import Journal
from journal_server.services.season import StoredSeason, load_seasons
from journal_server.storage.records import load_records

WAYS = ("cultivar", "ground", "light", "year", "try")
"""Ways to group plantings. All but the first are about one cultivar."""

OFF_TYPE = "off-type flower"
GIVEN_UP_DAYS = 60
"""A planting removed sooner than this was given up; a season is four to six months (common practice, no source)."""


@dataclass(frozen=True)
class Planted:
    """A planting with all that grouping and counting look at."""

    stored: StoredSeason
    cultivar_id: str
    trial_id: str
    standard: bool
    year: int
    in_ground: bool
    light: str
    survival: Survival
    off_types: int


def load_planted(journal: Journal, trial_id: str | None = None) -> list[Planted]:
    """Every planting (of one trial), with its place, its year, its survival and its off-type flowers."""
    seasons = load_seasons(journal, trial_id)
    with journal.database.reading() as session:
        fields = {kind: _fields_by_id(session, kind) for kind in ("cultivar", "planter", "trial")}
        counts = _by_planting(session, "plant_count")
        findings = _by_planting(session, "finding")
    return [_planted(stored, fields, counts, findings) for stored in seasons]


def group_plantings(planted: Sequence[Planted], way: str) -> list[Group]:
    """Groups in a lasting order; keys are ids of cultivars or plain words. Raises KeyError for an unknown way."""
    if way == "try":
        return _tries(planted)
    keyed = {"cultivar": _by_cultivar, "ground": _by_ground, "light": _by_light, "year": _by_year}[way]
    members: dict[str, list[StoredSeason]] = {}
    labels: dict[str, str] = {}
    for one in planted:
        key, label = keyed(one)
        members.setdefault(key, []).append(one.stored)
        labels[key] = label
    return [Group(key, labels[key], tuple(stored.season for stored in members[key])) for key in members]


def cultivars_to_compare(planted: Sequence[Planted], way: str) -> list[dict[str, Any]]:
    """Cultivars that have something to compare in this way: at least two groups; for tries, one that ended before."""
    found = []
    for cultivar_id in dict.fromkeys(one.cultivar_id for one in planted):
        own = [one for one in planted if one.cultivar_id == cultivar_id]
        groups = group_plantings(own, way)
        if len(groups) > 1 and (way != "try" or any(_failed(one) for one in own)):
            name = season_name(own[0].stored.season)
            found.append({"id": cultivar_id, "name": name, "groups": [group.label for group in groups]})
    return sorted(found, key=lambda one: str(one["name"]))


def _planted(
    stored: StoredSeason,
    fields: dict[str, dict[str, dict[str, Any]]],
    counts: dict[str, list[dict[str, Any]]],
    findings: dict[str, list[dict[str, Any]]],
) -> Planted:
    planting = stored.planting.fields
    planter, trial = fields["planter"][planting["planter_id"]], fields["trial"][planting["trial_id"]]
    identity = stored.planting.id
    return Planted(
        stored=stored,
        cultivar_id=planting["cultivar_id"],
        trial_id=planting["trial_id"],
        standard=bool(fields["cultivar"][planting["cultivar_id"]]["standard"]),
        year=trial["year"],
        in_ground=planter["planter_kind"] == "bed",
        light="afternoon shade" if planter["afternoon_shade"] else planter["exposure"] or "light not said",
        survival=survival(planting["plants"], [_count(one) for one in counts.get(identity, [])]),
        off_types=sum(one["what"] == OFF_TYPE for one in findings.get(identity, [])),
    )


def _count(fields: dict[str, Any]) -> PlantCount:
    return PlantCount(date.fromisoformat(fields["counted_on"]), fields["plants"], fields["reason"])


def _fields_by_id(session: Session, kind: str) -> dict[str, dict[str, Any]]:
    return {record.id: record.fields for record in load_records(session, kind, with_deleted=True)}


def _by_planting(session: Session, kind: str) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for record in load_records(session, kind):
        found.setdefault(record.fields["planting_id"], []).append(record.fields)
    return found


def _by_cultivar(one: Planted) -> tuple[str, str]:
    return one.cultivar_id, season_name(one.stored.season)


def _by_ground(one: Planted) -> tuple[str, str]:
    return ("ground", "in the ground") if one.in_ground else ("container", "in a container")


def _by_light(one: Planted) -> tuple[str, str]:
    return one.light, f"in {one.light}" if one.light != "light not said" else one.light


def _by_year(one: Planted) -> tuple[str, str]:
    return str(one.year), str(one.year)


def _tries(planted: Sequence[Planted]) -> list[Group]:
    """Each planting of a cultivar in order of time, with when it began and when it ended."""
    ordered = sorted(planted, key=lambda one: (one.stored.season.planted_on, one.stored.planting.id))
    groups = []
    for number, one in enumerate(ordered, start=1):
        season = one.stored.season
        ended = f", removed {full_day_words(season.removed_on)}" if season.removed_on else ""
        label = f"try {number}: {season.place}, planted {full_day_words(season.planted_on)}{ended}"
        groups.append(Group(one.stored.planting.id, label, (season,)))
    return groups


def _failed(one: Planted) -> bool:
    """Most plants died, or the planting was given up before a season was half over."""
    season = one.stored.season
    if season.removed_on is not None and (season.removed_on - season.planted_on).days < GIVEN_UP_DAYS:
        return True
    return one.survival.living == 0 or (one.survival.share is not None and one.survival.share.value <= 0.5)
