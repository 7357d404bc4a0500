"""What a cultivar may be good for and what it needs, as far as numbers and notes speak for it: offered, never set.

Limits are common practice, no source.
"""

from __future__ import annotations

from journal_server.analysis.verdict_drafts.counted import care_times, finding_times, heat_days
from journal_server.analysis.verdict_drafts.heat import bloom_over_spell
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Part, Quoted, Suggestion
from journal_server.analysis.verdict_drafts.upkeep import SPENT_SHOWS

FILLED, TRAILS_CM, LONG_WEEKS, MANY_HEAT_DAYS, OFTEN = 0.7, 10.0, 12.0, 10, 2
DRYNESS = ("dry", "wilted")
EATEN = ("caterpillar damage", "other chewing")


def suggest(material: VerdictMaterial) -> list[Suggestion]:
    """Each choice once, with the planting that speaks for it first."""
    found: dict[tuple[str, str], Suggestion] = {}
    for planting in material.plantings:
        for suggestion in (*_good_for(planting, material), *_needs(planting)):
            found.setdefault((suggestion.field, suggestion.value), suggestion)
    return list(found.values())


def _good_for(planting: PlantingMaterial, material: VerdictMaterial) -> list[Suggestion]:
    numbers, found = planting.numbers, []

    def good_for(value: str, *parts: Part) -> None:
        found.append(Suggestion("good_for", value, parts, planting.id))

    full, spill, weeks = (numbers[key] for key in ("full_size", "spill_most", "weeks_in_bloom"))
    if full.estimate and full.estimate.low >= FILLED:
        good_for(material.place, "It filled ", Quoted(full), " of its frame there.")
        if material.habit in ("mounding", "spreading"):
            good_for("filler", f"It is {material.habit} and filled ", Quoted(full), " of its frame.")
    if spill.estimate and spill.estimate.low >= TRAILS_CM:
        good_for("edge that trails", "It hung ", Quoted(spill), " below the rim.")
    if material.habit == "upright":
        good_for("upright accent", "Its habit is upright.")
    if weeks.estimate and weeks.estimate.low >= LONG_WEEKS:
        good_for("spring to autumn", "It held half of its peak bloom or more for ", Quoted(weeks), ".")
    if planting.afternoon_shade and numbers["peak"].estimate:
        good_for("afternoon shade", "It stood in afternoon shade; bloom cover peaked at ", Quoted(numbers["peak"]), ".")
    return [*found, *_heat(planting, material)]


def _heat(planting: PlantingMaterial, material: VerdictMaterial) -> list[Suggestion]:
    number, bloom = heat_days(planting, material), bloom_over_spell(planting, material)
    if number.estimate is None or number.estimate.value < MANY_HEAT_DAYS or material.foliage_only:
        return []
    if isinstance(bloom, str) or bloom[2].high < 0:
        return []
    parts = ("Bloom cover did not fall over the longest of ", Quoted(number), " of heat.")
    return [Suggestion("good_for", "heat", parts, planting.id)]


def _needs(planting: PlantingMaterial) -> list[Suggestion]:
    found = []

    def needs(value: str, *parts: Part) -> None:
        found.append(Suggestion("needs", value, parts, planting.id))

    spent, tidied, sprayed = (
        planting.numbers["spent_most"],
        *(care_times(planting, a) for a in ("deadheaded", "sprayed")),
    )
    if spent.estimate and spent.estimate.low >= SPENT_SHOWS:
        needs("deadheading", "Spent blooms came to ", Quoted(spent), " of the plant.")
    elif planting.times_done("deadheaded") >= OFTEN:
        needs("deadheading", "Deadheading was logged ", Quoted(tidied), ".")
    eaten = next((what for what in EATEN if planting.times_found(what)), None)
    if eaten:
        needs("spraying", f"Noted on walks: {eaten} ", Quoted(finding_times(planting, eaten)), ".")
    elif sprayed.estimate:
        needs("spraying", "Spraying was logged ", Quoted(sprayed), ".")
    if planting.times_found("flopped"):
        needs("space", "Noted on walks: flopped ", Quoted(finding_times(planting, "flopped")), ".")
    thirsty = next((what for what in DRYNESS if planting.times_found(what) >= OFTEN), None)
    if thirsty:
        needs("water", f"Noted on walks: {thirsty} ", Quoted(finding_times(planting, thirsty)), ".")
    return found
