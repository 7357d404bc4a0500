"""The verdicts of a trial: what can be offered for each, how far each is, which numbers under it have changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import DraftSentence, NotOffered, Part, Suggestion
from journal_server.domain.derived_ids import derived_id
from journal_server.domain.units import Units
from journal_server.domain.verdict_state import changed_numbers, missing, state
from journal_server.errors import NotFound
from journal_server.figures.words import quotable_bounds, quotable_value
from journal_server.services.journal import Journal
from journal_server.services.quotes import in_units, named_as, quote_number
from journal_server.services.verdict_material import TrialMaterial, load_trial_material
from journal_server.storage.records import Record, load_records

NOT_OFFERED_WORDS = {
    "fill": "how fast it fills in",
    "fill_half": "how soon it was half full",
    "fill_full": "how soon it was nine tenths full",
    "full_size": "its full size",
    "evenness": "how even the plants stood",
    "spill": "how far it hangs over",
    "genus_days_to_50": "how fast it grows beside its genus",
    "genus_full_size": "how large it grows beside its genus",
    "first_bloom": "from when it was in flower",
    "peak": "peak of bloom",
    "season_bloom": "mean bloom over the season",
    "weeks_in_bloom": "how long it bloomed",
    "flower_to_leaf": "flower to leaf",
    "bloom_last": "bloom on the last date",
    "fade": "what its colour did",
    "spent": "spent blooms",
    "care": "care",
    "living": "plants living",
    "findings": "findings",
    "rating": "rating",
    "heat_days": "heat days",
    "heat_bloom": "bloom over a hot spell",
    "genus_rank": "rank among its genus",
    "against_standard": "against the standard",
    "container_ground": "container against ground",
}
"""What a sentence that is not offered would have been about."""


def drafts_of_verdict(journal: Journal, trial_id: str, cultivar_id: str, place: str) -> dict[str, Any]:
    """Sentences, suggestions and numbers for one cultivar in one kind of place."""
    trial = load_trial_material(journal, trial_id)
    material = trial.of(cultivar_id, place)
    if not material.plantings and _stored(journal, trial_id, cultivar_id, place) is None:
        raise NotFound("This cultivar does not stand there in this trial.")
    drafts = trial.drafts(cultivar_id, place)
    return {
        "trial_id": trial_id,
        "cultivar_id": cultivar_id,
        "place": place,
        "name": material.name,
        "plantings": [_planting(one, trial) for one in material.plantings],
        "sentences": [_sentence(one, trial.units) for one in drafts.sentences],
        "not_offered": [_not_offered(one) for one in drafts.not_offered],
        "suggestions": [_suggestion(one, trial.units) for one in drafts.suggestions],
        "numbers": [_quoted(number, trial) for number in drafts.numbers],
        "pictures": _pictures(material.plantings),
    }


def verdicts_of_trial(journal: Journal, trial_id: str) -> dict[str, Any]:
    """Every cultivar in every kind of place it stood in, in walking order, with its verdict's state.

    ``now`` are the present wordings of the numbers that its text stands on; ``changed`` those that differ.
    """
    trial = load_trial_material(journal, trial_id)
    with journal.database.reading() as session:
        stored = load_records(session, "verdict", equals={"trial_id": trial_id})
    written = {(one.fields["cultivar_id"], one.fields["place"]): one for one in stored}
    keys = [*trial.plantings, *(key for key in written if key not in trial.plantings)]
    return {"trial_id": trial_id, "verdicts": [_verdict(trial, key, written.get(key)) for key in keys]}


def number_in_words(number: QuotableNumber, units: Units) -> dict[str, Any]:
    """A number with how it is worded; ``shown`` and ``interval`` are None where it is not known."""
    read = in_units(number, units)
    known = number.estimate is not None
    return number.as_dict() | {
        "shown": quotable_value(read) if known else None,
        "interval": quotable_bounds(read) if known else None,
    }


def _quoted(number: QuotableNumber, trial: TrialMaterial) -> dict[str, Any]:
    """A number in words, with what is copied of it."""
    stored = trial.stored.get(number.planting_id)
    quote = quote_number(number, named_as(stored), stored.photos, units=trial.units) if stored else None
    return number_in_words(number, trial.units) | {"quote": quote}


def _stored(journal: Journal, trial_id: str, cultivar_id: str, place: str) -> Record | None:
    with journal.database.reading() as session:
        of_trial = load_records(session, "verdict", equals={"trial_id": trial_id})
    wanted = (cultivar_id, place)
    return next((one for one in of_trial if (one.fields["cultivar_id"], one.fields["place"]) == wanted), None)


def _verdict(trial: TrialMaterial, key: tuple[str, str], stored: Record | None) -> dict[str, Any]:
    cultivar_id, place = key
    fields = stored.fields if stored else None
    material = trial.of(cultivar_id, place)
    now = _numbers_now(trial, material, fields["quoted"]) if fields and fields["quoted"] else []
    return {
        "id": derived_id("verdict", trial.trial_id, cultivar_id, place),
        "cultivar_id": cultivar_id,
        "place": place,
        "name": material.name,
        "plantings": [one.id for one in material.plantings],
        "state": state(fields),
        "missing": missing(fields or {}),
        "now": now,
        "changed": changed_numbers(fields["quoted"], now) if fields else [],
    }


def _numbers_now(
    trial: TrialMaterial, material: VerdictMaterial, quoted: Iterable[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Of the numbers quoted, how they are now; those that no planting has itself stand in the drafts."""
    wanted = {(one["planting_id"], one["key"]) for one in quoted}
    known = {
        (number.planting_id, number.key): number
        for planting in (*material.plantings, *material.elsewhere)
        for number in planting.numbers.values()
    }
    if wanted - set(known):
        drafts = trial.drafts(material.cultivar_id, material.place)
        known = {(number.planting_id, number.key): number for number in drafts.numbers}
    shown = (number_in_words(known[one], trial.units) for one in sorted(wanted & set(known)))
    names = ("key", "planting_id", "shown", "interval", "reason")
    return [{name: one[name] for name in names} for one in shown]


def _planting(planting: PlantingMaterial, trial: TrialMaterial) -> dict[str, Any]:
    season = planting.season
    return {
        "id": planting.id,
        "planter": season.place,
        "planted_on": season.planted_on.isoformat(),
        "removed_on": season.removed_on.isoformat() if season.removed_on else None,
        "plants": season.plants,
        "identity": "doubtful" if planting.identity_doubtful else "confirmed",
        "photos": planting.photos,
        "dates": len(planting.days),
        "walk_order": trial.stored[planting.id].walk_order,
    }


def _sentence(one: DraftSentence, units: Units) -> dict[str, Any]:
    parts = [_part(part, units) for part in one.parts]
    return {
        "key": one.key,
        "about": one.about,
        "planting_id": one.planting_id,
        "text": "".join(part["text"] for part in parts),
        "parts": parts,
        "numbers": [part["number"] for part in parts if "number" in part],
    }


def _suggestion(one: Suggestion, units: Units) -> dict[str, Any]:
    parts = [_part(part, units) for part in one.parts]
    return {
        "field": one.field,
        "value": one.value,
        "planting_id": one.planting_id,
        "text": "".join(part["text"] for part in parts),
        "parts": parts,
    }


def _part(part: Part, units: Units) -> dict[str, Any]:
    if isinstance(part, str):
        return {"text": part}
    number = number_in_words(part.number, units)
    bounds = f" ({number['interval']})" if part.with_bounds and number["interval"] else ""
    return {"text": f"{number['shown']}{bounds}", "number": number}


def _not_offered(one: NotOffered) -> dict[str, Any]:
    return {
        "key": one.key,
        "what": NOT_OFFERED_WORDS[one.key],
        "about": one.about,
        "planting_id": one.planting_id,
        "reason": one.reason,
    }


def _pictures(plantings: Sequence[PlantingMaterial]) -> dict[str, str]:
    """Photos that the measurements speak for: that of the peak, and the first and the latest.

    Of several plantings the one with the most dates measured is shown.
    """
    shown = max(plantings, key=lambda one: len(one.days), default=None)
    if shown is None or not shown.days:
        return {}
    first, latest = shown.days[0], shown.days[-1]
    peak = shown.numbers["peak"].photo_ids
    found = {"latest": latest.photo_id}
    if peak:
        found |= {"best": peak[0], "peak": peak[0]}
    if len(shown.days) > 1:
        found |= {"before": first.photo_id, "after": latest.photo_id}
    return found
