"""Everything that the reports on a trial are made of, read once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.series import PlantingSeason
from journal_server.analysis.summary import PlantingSummary, summarise
from journal_server.domain.cultivar_names import words_of_fields
from journal_server.domain.units import Units
from journal_server.domain.verdict_fields import place_of
from journal_server.services.comparison_groups import Planted, load_planted
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.quotable import load_quotable
from journal_server.services.quotes import in_units
from journal_server.services.season import StoredSeason, load_seasons, measurements_that_count, method_of
from journal_server.settings import units_of
from journal_server.storage.records import Record, load_by_ids, load_records


@dataclass(frozen=True)
class Shot:
    """A photo of a planting; ``measured`` are the fields of its current measurement for this planting, if any."""

    photo: Record
    measured: dict[str, Any] | None

    @property
    def day(self) -> date | None:
        taken_at = self.photo.fields["taken_at"]
        return datetime.fromisoformat(taken_at).date() if taken_at else None

    @property
    def method(self) -> str | None:
        return method_of(self.measured) if self.measured else None

    @property
    def usable(self) -> bool:
        return self.measured is not None and bool(self.measured["numbers"]["quality"]["usable"])


@dataclass(frozen=True)
class Grown:
    """A planting with all that was measured, counted and noted of it. ``shots`` are in order of time."""

    stored: StoredSeason
    planted: Planted
    cultivar: Record
    numbers: Mapping[str, QuotableNumber]
    shots: tuple[Shot, ...]

    @property
    def season(self) -> PlantingSeason:
        return self.stored.season

    @property
    def fields(self) -> dict[str, Any]:
        return self.stored.planting.fields

    @property
    def name(self) -> str:
        return words_of_fields(self.cultivar.fields)

    @property
    def place(self) -> str:
        """Of the verdict on it: a bed is ground, every other planter a container."""
        return place_of(self.stored.planter["planter_kind"])

    @cached_property
    def summary(self) -> PlantingSummary:
        return summarise(self.season)


@dataclass(frozen=True)
class Gathered:
    """One trial: its plantings in walking order, its verdicts by cultivar and place, the cultivars of both."""

    trial: Record
    grown: tuple[Grown, ...]
    verdicts: Mapping[tuple[str, str], dict[str, Any]]
    cultivars: Mapping[str, Record]
    gap_days: int
    heat_day_c: float
    units: Units

    @property
    def words(self) -> str:
        return trial_words(self.trial.fields)

    def of_cultivar(self, cultivar_id: str) -> tuple[Grown, ...]:
        return tuple(one for one in self.grown if one.cultivar.id == cultivar_id)

    def verdict(self, cultivar_id: str, place: str) -> dict[str, Any] | None:
        return self.verdicts.get((cultivar_id, place))


def trial_words(fields: Mapping[str, Any]) -> str:
    """The title of a trial, and its year where the title does not say it."""
    title, year = str(fields["title"]), str(fields["year"])
    return title if year in title else f"{title}, {year}"


def gather(journal: Journal, trial_id: str) -> Gathered:
    """Raises NotFound where there is no such trial."""
    settings = journal.settings()
    with journal.database.reading() as session:
        trial = existing(session, "trial", trial_id)
        verdicts = load_records(session, "verdict", equals={"trial_id": trial_id})
    seasons = load_seasons(journal, trial_id)
    planted = {one.planting_id: one for one in load_planted(journal, trial_id=trial_id)}
    numbers, units = load_quotable(journal, seasons), units_of(settings)
    with journal.database.reading() as session:
        about = [*(s.planting for s in seasons), *verdicts]
        cultivars = {r.id: r for r in load_by_ids(session, {one.fields["cultivar_id"] for one in about})}
        shots = _shots(session, [stored.planting.id for stored in seasons])
    grown = tuple(
        Grown(
            stored,
            planted[stored.planting.id],
            cultivars[stored.planting.fields["cultivar_id"]],
            {number.key: in_units(number, units) for number in numbers[stored.planting.id]},
            tuple(shots[stored.planting.id]),
        )
        for stored in seasons
        if stored.planting.id in planted
    )
    return Gathered(
        trial,
        grown,
        {(r.fields["cultivar_id"], r.fields["place"]): r.fields for r in verdicts},
        cultivars,
        int(settings["gap_days"]),
        float(settings["heat_day_c"]),
        units,
    )


def _shots(session: Session, planting_ids: Sequence[str]) -> dict[str, list[Shot]]:
    found: dict[str, list[Shot]] = {id_: [] for id_ in planting_ids}
    photos = load_records(session, "photo", among={"planting_id": planting_ids})
    measured = measurements_that_count(session, photos)
    for photo in sorted(photos, key=lambda one: (one.fields["taken_at"] or "", one.id)):
        if not photo.fields["set_aside"]:
            one = measured.get(photo.id)
            found[photo.fields["planting_id"]].append(Shot(photo, one["fields"] if one else None))
    return found
