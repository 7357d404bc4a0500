"""From stored records and measurements to the season of each planting: the one place where they are put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.measurement.result import Estimate
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.storage.records import (
    Record,
    current_measurements,
    load_by_ids,
    load_records,
    photo_stamps,
)

DOUBTFUL_COLOUR_DE00 = 5.0
"""From this expected error (CIEDE2000) on a colour is doubtful: about the size of a season's fade."""


@dataclass(frozen=True)
class StoredSeason:
    """A planting's season, the facts of its photos, and the fields of the planter it stands in."""

    season: PlantingSeason
    photos: dict[str, PhotoFacts]
    planting: Record
    planter: dict[str, Any]

    @property
    def walk_order(self) -> float:
        return float(self.planter["walk_order"] or 0.0)


def load_seasons(journal: Journal, trial_id: str | None = None) -> list[StoredSeason]:
    """The seasons of all plantings (of one trial) in walking order."""
    with journal.database.reading() as session:
        if trial_id is not None:
            existing(session, "trial", trial_id)
        of_trial = {"trial_id": trial_id} if trial_id is not None else None
        return _seasons(journal, session, load_records(session, "planting", equals=of_trial))


def load_season(journal: Journal, planting_id: str) -> StoredSeason:
    with journal.database.reading() as session:
        return _seasons(journal, session, [existing(session, "planting", planting_id)])[0]


def _seasons(journal: Journal, session: Session, plantings: Sequence[Record]) -> list[StoredSeason]:
    """Seasons in walking order; those whose records have not changed since they were last put together are kept."""
    around = {r.id: r for r in load_by_ids(session, _ids_around(plantings))}
    photos = photo_stamps(session, [r.id for r in plantings])
    stamps = {r.id: (r.seq, *(around[id_].seq for id_ in _ids_around([r])), photos.get(r.id)) for r in plantings}
    kept = {r.id: journal.kept_seasons.get(r.id, stamps[r.id]) for r in plantings}
    seasons: dict[str, StoredSeason] = {id_: season for id_, season in kept.items() if season}
    changed = [r for r in plantings if r.id not in seasons]
    measured = _measured_photos(session, [r.id for r in changed])
    for planting in changed:
        cultivar, planter = (around[id_].fields for id_ in _ids_around([planting]))
        seasons[planting.id] = _season(planting, cultivar, planter, measured[planting.id])
        journal.kept_seasons.keep(planting.id, stamps[planting.id], seasons[planting.id])
    return sorted(seasons.values(), key=lambda s: (s.walk_order, s.season.planted_on, s.planting.id))


def _ids_around(plantings: Sequence[Record]) -> list[str]:
    return [r.fields[name] for r in plantings for name in ("cultivar_id", "planter_id")]


def _measured_photos(session: Session, planting_ids: Sequence[str]) -> dict[str, list[tuple[Record, dict[str, Any]]]]:
    """For each planting its dated photos with their measurements, oldest change first."""
    found: dict[str, list[tuple[Record, dict[str, Any]]]] = {planting_id: [] for planting_id in planting_ids}
    photos = load_records(session, "photo", among={"planting_id": planting_ids})
    measured = measurements_that_count(session, photos)
    for photo in photos:
        if photo.id in measured and photo.fields["taken_at"]:
            found[photo.fields["planting_id"]].append((photo, measured[photo.id]))
    return found


def _season(
    planting: Record,
    cultivar: dict[str, Any],
    planter: dict[str, Any],
    measured: Sequence[tuple[Record, dict[str, Any]]],
) -> StoredSeason:
    framed = [(photo, one) for photo, one in measured if one["fields"]["frame_polygon"]]
    dated = framed or measured  # whole photos beside framed ones would be another quantity
    fields = planting.fields
    season = PlantingSeason(
        planting_id=planting.id,
        cultivar=cultivar["name"],
        genus=cultivar["genus"],
        place=planter["name"],
        planted_on=date.fromisoformat(fields["planted_on"]),
        removed_on=date.fromisoformat(fields["removed_on"]) if fields["removed_on"] else None,
        plants=fields["plants"],
        foliage_only=bool(cultivar["foliage_only"]),
        points=tuple(
            season_point(p.id, datetime.fromisoformat(p.fields["taken_at"]).date(), one["fields"]["numbers"])
            for p, one in dated
        ),
    )
    facts = {photo.id: photo_facts(photo, method_of(one["fields"])) for photo, one in dated}
    return StoredSeason(season, facts, planting, planter)


def measurements_that_count(session: Session, photos: Sequence[Record]) -> dict[str, dict[str, Any]]:
    """The newest measurement by photo; one made when the photo was held for another planting does not count."""
    newest = current_measurements(session, [photo.id for photo in photos])
    held_for = {photo.id: photo.fields["planting_id"] for photo in photos}
    return {id_: one for id_, one in newest.items() if one["fields"]["planting_id"] == held_for[id_]}


def method_of(measured: dict[str, Any]) -> str:
    """Of the fields of a measurement: the version of the method, and that a person corrected it, where one did."""
    return str(measured["numbers"].get("method") or measured["method"])


def photo_facts(photo: Record, method: str | None = None) -> PhotoFacts:
    """What a quote says of a photo, and of the method behind its numbers."""
    fields = photo.fields
    return PhotoFacts(fields["file_name"], fields["sha256"], fields["taken_at"] or "", method or "")


def season_point(photo_id: str, taken_on: date, numbers: dict[str, Any]) -> SeasonPoint:
    """One photo's numbers (the JSON of a measurement) as a point of a season; of an unusable photo, none."""
    if not numbers["quality"]["usable"]:
        return SeasonPoint(photo_id, taken_on)
    bloom, foliage = numbers.get("bloom_colour"), numbers.get("foliage_colour")
    return SeasonPoint(
        photo_id=photo_id,
        taken_on=taken_on,
        canopy_fill=estimate_of(numbers.get("canopy_fill")),
        bloom_cover=estimate_of(numbers.get("bloom_cover")),
        flower_to_leaf=estimate_of(numbers.get("flower_to_leaf")),
        spent_share=estimate_of(numbers.get("spent_share")),
        spill_cm=estimate_of(numbers.get("spill_cm")),
        evenness=estimate_of(numbers.get("evenness")),
        slots=tuple(numbers["slots"]) if numbers.get("slots") else None,
        bloom_lab=(bloom["lab"][0], bloom["lab"][1], bloom["lab"][2]) if bloom else None,
        bloom_hex=bloom["hex"] if bloom else None,
        foliage_hex=foliage["hex"] if foliage else None,
        white_reference=numbers.get("white_reference", "estimated"),
        colour_doubtful=_doubtful(bloom or foliage),
        bloom_error_de00=bloom["error_de00"] if bloom else None,
    )


def _doubtful(colour: dict[str, Any] | None) -> bool:
    return colour is not None and float(colour["error_de00"]) > DOUBTFUL_COLOUR_DE00


def estimate_of(given: dict[str, float] | None) -> Estimate | None:
    return Estimate(given["value"], given["low"], given["high"]) if given else None
