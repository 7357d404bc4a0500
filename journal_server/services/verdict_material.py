"""A trial's records put together for the drafts of its verdicts: each cultivar in each kind of place it stood in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy.orm import Session

from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.survival import LIFTED
from journal_server.analysis.verdict_drafts.drafts import VerdictDrafts, draft_verdict
from journal_server.analysis.verdict_drafts.material import Beside, Noted, PlantingMaterial, VerdictMaterial
from journal_server.analysis.weather import DayWeather
from journal_server.domain.cultivar_names import words_of_fields
from journal_server.domain.units import Units
from journal_server.domain.verdict_fields import other_place, place_of
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.quotable import load_quotable
from journal_server.services.season import StoredSeason, load_seasons
from journal_server.services.weather import load_weather
from journal_server.settings import units_of
from journal_server.storage.records import Record, last_seq_beside, load_by_ids, load_records
from journal_server.storage.season_rows import load_care_rows, load_photo_rows

Fields = dict[str, Any]

_LAST: WeakKeyDictionary[Journal, tuple[Any, TrialMaterial]] = WeakKeyDictionary()
"""What was put together last for each journal: it holds until anything but a verdict changes."""


@dataclass(frozen=True)
class TrialMaterial:
    """A trial's plantings by (cultivar id, place), and what all of its verdicts are written from."""

    trial_id: str
    cultivars: Mapping[str, Fields]
    plantings: Mapping[tuple[str, str], tuple[PlantingMaterial, ...]]
    stored: Mapping[str, StoredSeason]
    beside: tuple[Beside, ...]
    weather: tuple[DayWeather, ...]
    until: date
    heat_day_c: float
    units: Units
    standard: str | None = None
    drafted: dict[tuple[str, str], VerdictDrafts] = field(default_factory=dict, compare=False)

    def drafts(self, cultivar_id: str, place: str) -> VerdictDrafts:
        """The drafts of one verdict, worked out when first asked for."""
        key = (cultivar_id, place)
        if key not in self.drafted:
            self.drafted[key] = draft_verdict(self.of(*key))
        return self.drafted[key]

    def of(self, cultivar_id: str, place: str) -> VerdictMaterial:
        """What one verdict is written from; without plantings where none of it stands there."""
        cultivar = self.cultivars.get(cultivar_id, {})
        return VerdictMaterial(
            cultivar_id=cultivar_id,
            name=words_of_fields(cultivar),
            genus=cultivar.get("genus") or "",
            place=place,
            plantings=self.plantings.get((cultivar_id, place), ()),
            until=self.until,
            habit=cultivar.get("habit"),
            foliage_only=bool(cultivar.get("foliage_only")),
            earlier_names=tuple(cultivar.get("earlier_names") or ()),
            elsewhere=self.plantings.get((cultivar_id, other_place(place)), ()),
            beside=tuple(one for one in self.beside if one.cultivar_id != cultivar_id),
            seasons=tuple(stored.season for stored in self.stored.values()),
            standard=self.standard,
            weather=self.weather,
            heat_day_c=self.heat_day_c,
            heat_words=self.units.temperature_words(self.heat_day_c, exact=True),
        )


def load_trial_material(journal: Journal, trial_id: str) -> TrialMaterial:
    """What the verdicts of a trial are written from; put together anew when more than verdicts has changed."""
    settings, today = journal.settings(), journal.today()
    with journal.database.reading() as session:
        asked = (trial_id, today, tuple(settings.items()), last_seq_beside(session, "verdict"))
        known, found = _LAST.get(journal, (None, None))
        if found is None or known != asked:
            trial = existing(session, "trial", trial_id)
            weather = load_weather(session, trial_id)
    if found is not None and known == asked:
        return found
    seasons = load_seasons(journal, trial_id)
    numbers = load_quotable(journal, seasons)
    with journal.database.reading() as session:
        noted = _load_noted(session, trial_id, [stored.planting.id for stored in seasons])
        ids = {stored.planting.fields["cultivar_id"] for stored in seasons}
        cultivars = {record.id: record.fields for record in load_by_ids(session, ids)}
    found = _together(seasons, numbers, noted, cultivars, trial, weather, today, settings)
    _LAST[journal] = (asked, found)
    return found


@dataclass(frozen=True)
class _Noted:
    """What people noted, by planting id; care of the whole trial under None."""

    care: Mapping[str | None, Sequence[Noted]]
    findings: Mapping[str, Sequence[Noted]]
    ratings: Mapping[str, Sequence[int]]
    lifted: Mapping[str, int]
    photos: Mapping[str, int]


def _load_noted(session: Session, trial_id: str, ids: list[str]) -> _Noted:
    care: dict[str | None, list[Noted]] = defaultdict(list)
    for row in load_care_rows(session, trial_id, ids):
        care[row.planting_id].append(Noted(date.fromisoformat(row.done_on), row.action))
    photos: dict[str, int] = defaultdict(int)
    for photo in load_photo_rows(session, ids):
        photos[photo.planting_id] += 1

    def of_plantings(kind: str, read: Callable[[Fields], Any]) -> dict[str, list[Any]]:
        found: dict[str, list[Any]] = defaultdict(list)
        for record in load_records(session, kind, among={"planting_id": ids}):
            found[record.fields["planting_id"]].append(read(record.fields))
        return found

    ratings = of_plantings("rating", lambda f: f["overall"])
    counts = of_plantings("plant_count", dict)
    standing = {record.id: record.fields["plants"] for record in load_by_ids(session, set(ids))}
    return _Noted(
        care,
        of_plantings("finding", lambda f: Noted(date.fromisoformat(f["found_on"]), f["what"])),
        {id_: [one for one in given if one is not None] for id_, given in ratings.items()},
        {id_: _lifted(standing.get(id_), those) for id_, those in counts.items()},
        photos,
    )


def _lifted(set_out: int | None, counts: Iterable[Fields]) -> int:
    """How many plants were taken up for elsewhere: what each such count fell by."""
    lifted, before = 0, set_out
    for count in sorted(counts, key=lambda one: one["counted_on"]):
        if count["reason"] == LIFTED and before is not None:
            lifted += max(0, before - count["plants"])
        before = count["plants"]
    return lifted


def _together(
    seasons: Sequence[StoredSeason],
    numbers: Mapping[str, Sequence[QuotableNumber]],
    noted: _Noted,
    cultivars: Mapping[str, Fields],
    trial: Record,
    weather: tuple[DayWeather, ...],
    today: date,
    settings: Fields,
) -> TrialMaterial:
    plantings: dict[tuple[str, str], list[PlantingMaterial]] = defaultdict(list)
    for stored in seasons:
        key = (stored.planting.fields["cultivar_id"], place_of(stored.planter["planter_kind"]))
        plantings[key].append(_planting(stored, numbers[stored.planting.id], noted))
    beside = tuple(_beside(key, those, cultivars[key[0]]) for key, those in plantings.items())
    return TrialMaterial(
        trial_id=trial.id,
        cultivars=cultivars,
        plantings={key: tuple(those) for key, those in plantings.items()},
        stored={stored.planting.id: stored for stored in seasons},
        beside=beside,
        weather=weather,
        until=today,
        heat_day_c=settings["heat_day_c"],
        units=units_of(settings),
        standard=next((id_ for id_, one in cultivars.items() if one["standard"]), None),
    )


def _planting(stored: StoredSeason, numbers: Sequence[QuotableNumber], noted: _Noted) -> PlantingMaterial:
    fields, id_ = stored.planting.fields, stored.planting.id
    planted, removed = stored.season.planted_on, stored.season.removed_on
    of_trial = [one for one in noted.care.get(None, ()) if planted <= one.on and (removed is None or one.on <= removed)]
    return PlantingMaterial(
        season=stored.season,
        numbers={number.key: number for number in numbers},
        photos=noted.photos.get(id_, 0),
        afternoon_shade=bool(stored.planter["afternoon_shade"]),
        identity_doubtful=fields["identity"] == "doubtful",
        label_said=fields["label_said"],
        looks_like=fields["looks_like"],
        care=tuple(sorted((*noted.care.get(id_, ()), *of_trial), key=lambda one: one.on)),
        findings=tuple(noted.findings.get(id_, ())),
        ratings=tuple(noted.ratings.get(id_, ())),
        lifted=noted.lifted.get(id_, 0),
    )


def _beside(key: tuple[str, str], plantings: Sequence[PlantingMaterial], cultivar: Fields) -> Beside:
    numbers = {planting.id: planting.numbers for planting in plantings}
    return Beside(key[0], words_of_fields(cultivar), cultivar["genus"], key[1], numbers)
