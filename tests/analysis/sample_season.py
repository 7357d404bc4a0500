"""The sample season's exact truth as analysis inputs, with an invented measuring error of 3 points."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from skimage.color import lab2rgb

from journal_server.analysis.look_at.things import CareDone, PhotoSeen, StandingPlanting, TrialDay
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.analysis.weather import DayWeather
from journal_server.measurement.result import Estimate
from journal_server.packaged import packaged_folder

TRUTH = json.loads((Path(__file__).parent / "data" / "sample_season_truth.json").read_text(encoding="utf-8"))


def estimate(value: float | None, half: float = 0.03) -> Estimate | None:
    return None if value is None else Estimate(value, max(0.0, value - half), value + half)


def hex_of(lab: list[float] | None) -> str | None:
    if lab is None:
        return None
    red, green, blue = (np.clip(lab2rgb(np.array(lab)), 0, 1) * 255).round().astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def point(code: str, record: dict[str, Any]) -> SeasonPoint:
    slots = record["slots"]
    return SeasonPoint(
        photo_id=f"{code}-{record['date']}",
        taken_on=date.fromisoformat(record["date"]),
        canopy_fill=estimate(record["canopy_fill"]),
        bloom_cover=estimate(record["bloom_cover"], 0.03 if record["bloom_cover"] > 0.03 else 0.01),
        flower_to_leaf=estimate(record["flower_to_leaf"], 0.06),
        spent_share=estimate(record["spent_share"], 0.02),
        evenness=estimate(min(slots) / float(np.median(slots)), 0.06),
        slots=tuple(slots),
        bloom_lab=tuple(record["bloom_lab"]) if record["bloom_lab"] else None,
        bloom_hex=hex_of(record["bloom_lab"]),
        foliage_hex=hex_of(record["foliage_lab"]),
        white_reference="card",
    )


def seasons() -> list[PlantingSeason]:
    return [
        PlantingSeason(
            planting_id=p["code"],
            cultivar=p["cultivar"],
            genus=p["genus"],
            place=p["exposure"],
            planted_on=date.fromisoformat(TRUTH["planted"]),
            plants=p["n_plants"],
            foliage_only=p["foliage_only"],
            points=tuple(point(p["code"], record) for record in p["points"]),
        )
        for p in TRUTH["plantings"]
    ]


def weather() -> list[DayWeather]:
    return [
        DayWeather(date.fromisoformat(day), tmin, tmax, rain)
        for day, tmin, tmax, rain in TRUTH["weather_date_tmin_c_tmax_c_rain_mm"]
    ]


MEASURED = json.loads((Path(__file__).parent / "data" / "sample_season_measured.json").read_text(encoding="utf-8"))
SAMPLE = packaged_folder("sample_photos")


def measured_point(code: str, record: dict[str, Any]) -> SeasonPoint:
    lab, shares = record["bloom_lab"], ("canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf", "evenness")
    return SeasonPoint(
        photo_id=f"{code}-{record['date']}",
        taken_on=date.fromisoformat(record["date"]),
        **{name: Estimate(*record[name]) if record[name] else None for name in shares},
        slots=tuple(record["slots"]) if record["slots"] else None,
        bloom_lab=(lab[0], lab[1], lab[2]) if lab else None,
        bloom_hex=hex_of(lab),
        foliage_hex=record["foliage_hex"],
        white_reference=record["white"],
        colour_doubtful=record["colour_error"] > 5.0,
        bloom_error_de00=record["colour_error"] if lab else None,
    )


def _standing(season: PlantingSeason, cards: dict[date, bool]) -> StandingPlanting:
    with (SAMPLE / "care.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["planting"] == season.planting_id]
    return StandingPlanting(
        season,
        cultivar_id=season.cultivar,
        full_sun="full sun" in season.place,
        photos=tuple(PhotoSeen(p.photo_id, p.taken_on, cards.get(p.taken_on, True)) for p in season.points),
        care=tuple(CareDone(date.fromisoformat(row["date"]), row["action"]) for row in rows),
    )


def trial_from_truth() -> TrialDay:
    """The sample season as it was, with invented errors."""
    standing = tuple(_standing(season, {}) for season in seasons())
    return TrialDay(date(2026, 9, 1), standing, tuple(weather()))


def measured_trial() -> TrialDay:
    """The sample season as the measuring method measured it in the demo journal."""
    standing = []
    for season in seasons():
        records = MEASURED["plantings"][season.planting_id.lower()]
        points = tuple(measured_point(season.planting_id, record) for record in records)
        cards = {date.fromisoformat(record["date"]): record["card"] for record in records}
        standing.append(_standing(replace(season, points=points), cards))
    return TrialDay(date(2026, 9, 1), tuple(standing), tuple(weather()))
