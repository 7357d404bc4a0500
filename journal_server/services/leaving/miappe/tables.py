"""The rows of every table but the observations."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from journal_server.analysis.weather import DayWeather
from journal_server.domain.records import EXPOSURES, IRRIGATIONS, PLANTER_KINDS
from journal_server.services.csv_file import Cell
from journal_server.services.leaving.miappe.variables import VARIABLES
from journal_server.services.leaving.plants_of_trials import Plant
from journal_server.storage.records import Record

Row = dict[str, Cell]

_POTS = ("pot", "hanging basket")
_NO_PRACTICE = ("planted", "noted")
_FACTORS = {
    "kind of planter": ("planter_kind", "what the plants stand in", PLANTER_KINDS),
    "light": ("exposure", "sun or shade at the planter", EXPOSURES),
    "afternoon shade": ("afternoon_shade", "whether the planter is shaded in the afternoon", ("yes",)),
    "wind": ("wind", "whether the planter stands in the wind", ("yes",)),
    "watering": ("irrigation", "how the planter is watered", IRRIGATIONS),
}
_WEATHER = {
    "lowest air temperature of the day (°C)": "tmin_c",
    "highest air temperature of the day (°C)": "tmax_c",
    "rain of the day (mm)": "rain_mm",
}


def study_row(trial: Record, plants: Sequence[Plant], care: Sequence[Record], *, with_place: bool) -> Row:
    removed = [plant.fields["removed_on"] for plant in plants]
    practices = Counter(record.fields["action"] for record in care if record.fields["action"] not in _NO_PRACTICE)
    return {
        "Study unique ID": trial.id,
        "Study title": trial.fields["title"],
        "Study description": trial.fields["note"],
        "Start date of study": min((plant.fields["planted_on"] for plant in plants), default=None),
        "End date of study": max(removed) if removed and all(removed) else None,
        "Experimental site name": trial.fields["site"] if with_place else None,
        "Description of the experimental design": _design(plants),
        "Observation unit level hierarchy": "study > planting",
        "Observation unit description": (
            "One planting: one cultivar set out on one day in one planter, measured as a whole from photos"
        ),
        "Cultural practices": "; ".join(f"{action} ({times} noted)" for action, times in sorted(practices.items())),
        "year": trial.fields["year"],
    }


def _design(plants: Sequence[Plant]) -> str:
    cultivars = Counter(plant.cultivar.id for plant in plants)
    repeated = sum(times > 1 for times in cultivars.values()) or "none"
    planters = len({plant.fields["planter_id"] for plant in plants})
    return (
        f"{len(plants)} plantings of {len(cultivars)} cultivars in {planters} planters; {repeated} of the cultivars "
        "stand in more than one planting. Places were chosen by the person, not at random by the journal."
    )


def material_row(cultivar: Record) -> Row:
    fields = cultivar.fields
    return {
        "Biological material ID": cultivar.id,
        "Genus": fields["genus"],
        "Species": fields["species"],
        "Infraspecific name": f"‘{fields['name']}’",
        "earlier_names": "; ".join(fields.get("earlier_names") or []),
        "introduced": fields["introduced"],
        "habit": fields["habit"],
        "foliage_only": bool(fields["foliage_only"]),
        "declared_bloom_colours": " ".join(fields["bloom_colours"] or []),
        "declared_foliage_colours": " ".join(fields["foliage_colours"] or []),
    }


def unit_row(plant: Plant) -> Row:
    fields, planter = plant.fields, plant.planter
    on_the_walk = planter["walk_order"]
    return {
        "Study unique ID": plant.trial.id,
        "Biological material ID": plant.cultivar.id,
        "Observation unit ID": plant.id,
        "Observation unit type": "pot" if planter["planter_kind"] in _POTS else "plot",
        "Spatial distribution": f"order of walking: {on_the_walk:g}" if on_the_walk is not None else None,
        "Observation unit factor value": "; ".join(f"{name}: {value}" for name, value in _factors(plant).items()),
        "planter": planter["name"],
        "planter_length_cm": planter["length_cm"],
        "plants_set_out": fields["plants"],
        "planted_on": fields["planted_on"],
        "removed_on": fields["removed_on"],
        "identity": fields["identity"],
        "card_code": fields["card_code"],
    }


def _factors(plant: Plant) -> dict[str, str]:
    """What is noted of the planter; a tick that is not set says nothing, as it may never have been looked at."""
    noted = {name: plant.planter[field] for name, (field, _, _) in _FACTORS.items()}
    return {name: "yes" if value is True else value for name, value in noted.items() if value}


def factor_rows(trial_id: str, plants: Sequence[Plant]) -> list[Row]:
    found = [_factors(plant) for plant in plants]
    rows: list[Row] = []
    for name, (_, description, choices) in _FACTORS.items():
        values = [choice for choice in choices if choice in {factors.get(name) for factors in found}]
        if values:
            rows.append(
                {
                    "Study unique ID": trial_id,
                    "Experimental factor type": name,
                    "Experimental factor description": description,
                    "Experimental factor values": "; ".join(values),
                }
            )
    return rows


def environment_rows(trial_id: str, weather: Sequence[DayWeather]) -> list[Row]:
    return [
        {
            "Study unique ID": trial_id,
            "Environment parameter": parameter,
            "Environment parameter value": value,
            "date": day.day.isoformat(),
        }
        for day in weather
        for parameter, field in _WEATHER.items()
        if not day.forecast and (value := getattr(day, field)) is not None
    ]


def event_rows(trial_id: str, plants: Sequence[Plant], care: Sequence[Record]) -> list[Row]:
    """Planting, removal and care, in order of days."""
    ids = {plant.id for plant in plants}
    rows: list[Row] = [
        _event(plant.id, "planting", plant.fields["planted_on"], _set_out(plant.fields)) for plant in plants
    ]
    rows += [
        _event(plant.id, "removal", plant.fields["removed_on"], None) for plant in plants if plant.fields["removed_on"]
    ]
    rows += [
        _event(r.fields["planting_id"], r.fields["action"], r.fields["done_on"], _care_words(r.fields))
        for r in care
        if r.fields["planting_id"] is None or r.fields["planting_id"] in ids
    ]
    rows.sort(key=lambda row: str(row["Event date"]))
    return [{"Study unique ID": trial_id, **row} for row in rows]


def _event(planting_id: str | None, what: str, day: str, words: str | None) -> Row:
    return {"Observation unit ID": planting_id, "Event type": what, "Event description": words, "Event date": day}


def _set_out(fields: Mapping[str, Any]) -> str | None:
    return f"{fields['plants']} plants set out" if fields["plants"] else None


def _care_words(fields: Mapping[str, Any]) -> str:
    return "; ".join(words for words in (fields["product"], fields["note"]) if words)


def variable_rows(observed: set[str]) -> list[Row]:
    """The variables that have a value somewhere."""
    return [
        {
            "Variable ID": variable.id,
            "Variable name": variable.name,
            "Trait": variable.trait,
            "Method": variable.method,
            "Method description": variable.method_description,
            "Reference associated to the method": variable.reference,
            "Scale": variable.scale,
            "Time scale": variable.time_scale,
        }
        for variable in VARIABLES
        if variable.id in observed
    ]
