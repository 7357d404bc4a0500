"""What is written into a photo about itself: title, description, alt text, keywords."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from journal_server.analysis.series import SHARE_WORDS, weeks_after_planting
from journal_server.domain.dates import full_day_words
from journal_server.figures.words import estimate_words, week_words
from journal_server.measurement.result import Estimate
from journal_server.services.leaving.photo_xmp import PhotoWords
from journal_server.services.leaving.plants_of_trials import Plant

_TOLD = ("canopy_fill", "bloom_cover")
"""The numbers of a photo that are written into its description."""


def words_of(
    photo_id: str, plant: Plant | None, taken: datetime | None, measured: dict[str, Any] | None, *, with_place: bool
) -> PhotoWords:
    """The words for one photo; ``measured`` is the JSON of its current measurement. The site only with the place."""
    when = full_day_words(taken.date()) if taken else "a day that is not known"
    if plant is None:
        title, about = f"Photo of {when}", f"Photo of {when}, not matched to a planting."
        return PhotoWords(title, about, about, ("planting trial",), _moment(taken), None, None, f"urn:uuid:{photo_id}")
    since = f", {_weeks_after(plant.planted_on, taken.date())}" if taken else ""
    shows = f"{plant.cultivar_words} in {plant.place}"
    return PhotoWords(
        title=f"{shows}, {when}",
        description=" ".join([f"{shows}, {when}{since}. {_standing(plant)}", *_measured_sentence(plant, measured)]),
        alt_text=f"Photo of {shows}, taken on {when}{since}.",
        keywords=_keywords(plant, taken),
        taken_at=_moment(taken),
        event=plant.trial.fields["title"],
        event_id=f"urn:uuid:{plant.trial.id}",
        image_id=f"urn:uuid:{photo_id}",
        place=plant.trial.fields["site"] if with_place else None,
    )


def _standing(plant: Plant) -> str:
    facts = [plant.planter["planter_kind"], plant.planter["exposure"]]
    return f"Planted on {full_day_words(plant.planted_on)} ({', '.join(fact for fact in facts if fact)})."


def _measured_sentence(plant: Plant, measured: dict[str, Any] | None) -> list[str]:
    told = _TOLD[:1] if plant.cultivar.fields["foliage_only"] else _TOLD
    parts = [
        f"{SHARE_WORDS[name]} {estimate_words(name, Estimate(**measured[name]))}"
        for name in told
        if measured and measured.get(name)
    ]
    if not parts or measured is None:
        return []
    return [f"Measured from this photo, with 90 % intervals: {', '.join(parts)} ({measured['method']})."]


def _weeks_after(planted_on: date, day: date) -> str:
    if day < planted_on:
        return "before planting"
    return f"{week_words(planted_on, day)} after planting"


def _keywords(plant: Plant, taken: datetime | None) -> tuple[str, ...]:
    cultivar, trial = plant.cultivar.fields, plant.trial.fields
    words = [
        "planting trial", trial["title"], str(trial["year"]), cultivar["genus"], cultivar["species"], cultivar["name"],
        plant.cultivar_words, plant.place, plant.planter["planter_kind"], plant.planter["exposure"],
    ]  # fmt: skip
    if taken and taken.date() >= plant.planted_on:
        words.append(f"week {round(weeks_after_planting(plant.planted_on, taken.date()))}")
    return tuple(dict.fromkeys(word for word in words if word))


def _moment(taken: datetime | None) -> str | None:
    return taken.isoformat(timespec="seconds") if taken else None
