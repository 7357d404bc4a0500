"""Sentences about what it took and what was noted: spent bloom, care, losses, findings, ratings."""

from __future__ import annotations

from journal_server.analysis.verdict_drafts.counted import care_times, finding_times, overall_rating, rating_count
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, NotOffered, Part, Quoted, draft
from journal_server.domain.dates import day_words

ABOUT = "upkeep"

#: From this spent share on, spent blooms show: common practice, no source.
SPENT_SHOWS = 0.05
#: On one date "never" would say more than was seen.
FEWEST_DAYS = 2
#: Care that is said in one sentence, in this order; deadheading stands beside the spent blooms where they are known.
CARE = ("fed", "watered", "sprayed", "trimmed", "deadheaded", "repaired")


def write_upkeep(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    spent = [] if material.foliage_only else [_spent(planting)]
    return [*spent, _care(planting, material), _living(planting), _findings(planting), _rating(planting)]


def _spent(planting: PlantingMaterial) -> Draft:
    number, tidied = planting.numbers["spent_most"], care_times(planting, "deadheaded")
    if number.estimate is not None and number.estimate.value <= SPENT_SHOWS and len(planting.days) >= FEWEST_DAYS:
        parts: list[Part] = ["Spent blooms were never above ", Quoted(number), " of the plant: "]
    else:
        on = f" of the plant, on {day_words(number.on)}: " if number.on else ": "
        parts = ["Spent blooms came to ", Quoted(number), on]
    parts += ["deadheading was logged ", Quoted(tidied), "."] if tidied.estimate else ["no deadheading was logged."]
    return draft("spent", ABOUT, *parts, planting_id=planting.id)


def _care(planting: PlantingMaterial, material: VerdictMaterial) -> Draft:
    """What was logged, and only that: care that nobody logged may have been given."""
    spent_said = not material.foliage_only and planting.numbers["spent_most"].estimate is not None
    told = [action for action in CARE if planting.times_done(action) and not (spent_said and action == "deadheaded")]
    done = [(action, care_times(planting, action)) for action in told]
    if not done:
        return NotOffered(
            "care",
            ABOUT,
            "no care of it was logged" if not spent_said else "no other care of it was logged",
            planting.id,
        )
    parts: list[Part] = ["Care as logged: "]
    for place, (action, number) in enumerate(done):
        parts += [f"{', ' if place else ''}{action} ", Quoted(number)]
    return draft("care", ABOUT, *parts, ".", planting_id=planting.id)


def _living(planting: PlantingMaterial) -> Draft:
    living, planted = (planting.numbers[key] for key in ("plants_living", "plants_planted"))
    on = f" on {day_words(living.on)}" if living.on else ""
    lifted = f"; {planting.lifted} lifted for elsewhere" if planting.lifted else ""
    parts = (Quoted(living), " of ", Quoted(planted), f" plants were living{on}{lifted}.")
    return draft("living", ABOUT, *parts, planting_id=planting.id)


def _findings(planting: PlantingMaterial) -> Draft:
    kinds = sorted({one.what for one in planting.findings}, key=lambda what: (-planting.times_found(what), what))
    if not kinds:
        return NotOffered("findings", ABOUT, "no finding was noted on a walk", planting.id)
    parts: list[Part] = ["Noted on walks: "]
    for place, what in enumerate(kinds):
        parts += [f"{', ' if place else ''}{what} ", Quoted(finding_times(planting, what))]
    return draft("findings", ABOUT, *parts, ".", planting_id=planting.id)


def _rating(planting: PlantingMaterial) -> Draft:
    number = overall_rating(planting)
    if len(planting.ratings) < 2:
        return draft("rating", ABOUT, "Rated ", Quoted(number), " overall, one time.", planting_id=planting.id)
    parts = ("Rated ", Quoted(number), " overall, the median of ratings given ", Quoted(rating_count(planting)), ".")
    return draft("rating", ABOUT, *parts, planting_id=planting.id)
