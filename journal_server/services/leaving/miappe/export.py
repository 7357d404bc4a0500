"""The tables of one trial or of all, put together and described field by field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.weather import DayWeather
from journal_server.errors import InputRefused
from journal_server.services.csv_file import csv_file
from journal_server.services.feed_identity import feed_identity
from journal_server.services.journal import Journal
from journal_server.services.leaving.miappe import tables
from journal_server.services.leaving.miappe.fields import (
    DATA_FILE,
    ENVIRONMENT,
    EVENT,
    FACTOR,
    FILES,
    INVESTIGATION,
    MATERIAL,
    OBSERVATION,
    STUDY,
    UNIT,
    VARIABLE,
    columns_of,
)
from journal_server.services.leaving.miappe.observations import observation_rows
from journal_server.services.leaving.miappe.readme import README, readme
from journal_server.services.leaving.miappe.tables import Row
from journal_server.services.leaving.plants_of_trials import Plant, load_plants
from journal_server.services.leaving.zip_stream import Member
from journal_server.services.season import StoredSeason, load_seasons
from journal_server.services.weather import load_weather
from journal_server.storage.records import Record, current_measurements, load_records

_DESCRIPTIONS = {
    MATERIAL: "the cultivars",
    FACTOR: "what differs between the places of the plantings",
    ENVIRONMENT: "the weather, day by day",
    EVENT: "plantings, removals and care",
    UNIT: "the plantings",
    VARIABLE: "what is observed, how, on which scale",
    OBSERVATION: "the observations, one a row",
}


@dataclass(frozen=True)
class _Trial:
    record: Record
    plants: list[Plant]
    seasons: list[StoredSeason]
    care: list[Record]
    weather: Sequence[DayWeather]


def miappe_files(journal: Journal, trial_id: str | None, *, with_place: bool = False) -> Iterator[Member]:
    """The files, README first. With the place the site goes along; photos have an export of their own.

    Raises NotFound for an unknown trial, InputRefused where there is no planting yet.
    """
    made_on = journal.today().isoformat()
    journal_id = feed_identity(journal)["journal"]
    with journal.database.reading() as session:
        plants = load_plants(session, trial_id)
        if not plants:
            raise InputRefused("There is no planting yet, so there is nothing to take out.")
        grouped = _by_trial(session, plants, load_seasons(journal, trial_id))
        rows = {OBSERVATION: _observations(session, grouped)}
    for trial in grouped:
        _add_trial(rows, trial, made_on, with_place=with_place)
    rows[MATERIAL] = [tables.material_row(c) for c in {p.cultivar.id: p.cultivar for p in plants}.values()]
    rows[VARIABLE] = tables.variable_rows(_observed(rows[OBSERVATION]))
    rows[OBSERVATION] = [r for r in rows[OBSERVATION] if r["variable_id"] in _observed(rows[OBSERVATION])]
    rows[INVESTIGATION] = [_investigation(journal_id, made_on, grouped)]
    yield README, readme(made_on, {FILES[section]: len(found) for section, found in rows.items()}).encode("utf-8")
    for section, name in FILES.items():
        columns = columns_of(section)
        yield name, csv_file(columns, [[row.get(column) for column in columns] for row in rows.get(section, [])])


def _by_trial(session: Session, plants: Sequence[Plant], seasons: Sequence[StoredSeason]) -> list[_Trial]:
    trials = {plant.trial.id: plant.trial for plant in plants}
    return [
        _Trial(
            record,
            [plant for plant in plants if plant.trial.id == id_],
            [season for season in seasons if season.planting.fields["trial_id"] == id_],
            load_records(session, "care", equals={"trial_id": id_}),
            load_weather(session, id_),
        )
        for id_, record in trials.items()
    ]


def _add_trial(rows: dict[str, list[Row]], trial: _Trial, made_on: str, *, with_place: bool) -> None:
    def add(section: str, found: list[Row]) -> None:
        rows.setdefault(section, []).extend(found)

    id_ = trial.record.id
    add(STUDY, [tables.study_row(trial.record, trial.plants, trial.care, with_place=with_place)])
    add(UNIT, [tables.unit_row(plant) for plant in trial.plants])
    add(FACTOR, tables.factor_rows(id_, trial.plants))
    add(ENVIRONMENT, tables.environment_rows(id_, trial.weather))
    add(EVENT, tables.event_rows(id_, trial.plants, trial.care))
    files: list[Row] = [
        {
            "Study unique ID": id_,
            "Data file link": FILES[section],
            "Data file description": description,
            "Data file version": made_on,
        }
        for section, description in _DESCRIPTIONS.items()
    ]
    add(DATA_FILE, files)


def _observations(session: Session, trials: Sequence[_Trial]) -> list[Row]:
    ids = [season.planting.id for trial in trials for season in trial.seasons]
    ratings = load_records(session, "rating", among={"planting_id": ids})
    counts = load_records(session, "plant_count", among={"planting_id": ids})
    names = sorted({r.fields["rater"] for r in ratings if r.fields["rater"]})
    raters: dict[str | None, str | None] = {None: None, **{name: f"rater {at}" for at, name in enumerate(names, 1)}}
    reasons = _reasons(session, [id_ for trial in trials for season in trial.seasons for id_ in season.photos])
    rows: list[Row] = []
    for trial in trials:
        for season in trial.seasons:
            of_it = season.planting.id
            rows += observation_rows(
                season,
                reasons,
                [r for r in ratings if r.fields["planting_id"] == of_it],
                [r for r in counts if r.fields["planting_id"] == of_it],
                raters,
            )
    return rows


def _reasons(session: Session, photo_ids: Sequence[str]) -> dict[str, Mapping[str, str]]:
    """Why numbers are missing, by the photo's SHA-256."""
    measured = current_measurements(session, photo_ids)
    photos = {r.id: r.fields["sha256"] for r in load_records(session, "photo") if r.id in measured}
    return {photos[id_]: _why(one["fields"]["numbers"]) for id_, one in measured.items()}


def _why(numbers: dict[str, Any]) -> Mapping[str, str]:
    if numbers["quality"]["usable"]:
        found: Mapping[str, str] = numbers.get("reasons") or {}
        return found
    says = " ".join(warning["message"] for warning in numbers["quality"]["warnings"])
    return dict.fromkeys(numbers, f"The photo cannot be used. {says}")


def _observed(rows: Sequence[Row]) -> set[str]:
    return {str(row["variable_id"]) for row in rows if row["value"] is not None}


def _investigation(journal_id: str, made_on: str, trials: Sequence[_Trial]) -> Row:
    return {
        "Investigation unique ID": journal_id,
        "Investigation title": "; ".join(trial.record.fields["title"] for trial in trials),
        "Submission date": made_on,
        "MIAPPE version": "1.1",
    }
