"""Sentences about what the numbers rest on: few photos, an early end, a doubtful name, one planter or several."""

from __future__ import annotations

from journal_server.analysis.survival import GIVEN_UP_DAYS
from journal_server.analysis.verdict_drafts.counted import dates_measured, days_stood
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, Quoted, draft
from journal_server.domain.dates import day_words, full_day_words
from journal_server.domain.words import counted, listed

ABOUT = "how far to trust it"


def write_trust(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    """What must be said of one planting."""
    return [_photos(planting), *_removed(planting), *_identity(planting)]


def write_trust_of_all(material: VerdictMaterial) -> list[Draft]:
    """What must be said of the cultivar in this kind of place."""
    return [*_places(material), *_renamed(material)]


def _photos(planting: PlantingMaterial) -> Draft:
    days = planting.days
    if planting.photos == 0:
        return draft("photos", ABOUT, "There is no photo of it, so that nothing was measured.", planting_id=planting.id)
    if not days:
        text = f"{counted(planting.photos, 'photo')} of it, and none could be measured."
        return draft("photos", ABOUT, text, planting_id=planting.id)
    if len(days) == 1:
        text = f"Measured on {full_day_words(days[0].taken_on)} only: nothing is known of its course."
        return draft("photos", ABOUT, text, planting_id=planting.id)
    span = f" dates, from {day_words(days[0].taken_on)} to {full_day_words(days[-1].taken_on)}."
    return draft("photos", ABOUT, "Measured on ", Quoted(dates_measured(planting)), span, planting_id=planting.id)


def _removed(planting: PlantingMaterial) -> list[Draft]:
    removed, planted = planting.season.removed_on, planting.season.planted_on
    if removed is None or (removed - planted).days >= GIVEN_UP_DAYS:
        return []
    lead = f"Removed on {full_day_words(removed)}, "
    parts = (lead, Quoted(days_stood(planting, removed)), " after planting: its numbers are of that time only.")
    return [draft("removed", ABOUT, *parts, planting_id=planting.id)]


def _identity(planting: PlantingMaterial) -> list[Draft]:
    if not planting.identity_doubtful:
        return []
    told = [
        f"{words} “{said}”"
        for words, said in (("the label said", planting.label_said), ("it looks like", planting.looks_like))
        if said
    ]
    text = f"What it is is in doubt{': ' + ', '.join(told) if told else ''}."
    return [draft("identity", ABOUT, text, planting_id=planting.id)]


def _places(material: VerdictMaterial) -> list[Draft]:
    places = [one.season.place for one in material.plantings]
    if not places:
        return []
    if len(places) == 1:
        return [draft("places", ABOUT, f"One planter, {places[0]}: what it did there may be the place.")]
    return [draft("places", ABOUT, f"It stood in {len(places)} planters here: {listed(places)}.")]


def _renamed(material: VerdictMaterial) -> list[Draft]:
    if not material.earlier_names:
        return []
    return [draft("renamed", ABOUT, f"It was called {listed(list(material.earlier_names))} before.")]
