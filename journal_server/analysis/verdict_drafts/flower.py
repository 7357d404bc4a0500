"""Sentences about bloom: from when, how much, how long."""

from __future__ import annotations

from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, NotOffered, Quoted, draft
from journal_server.domain.dates import day_words

ABOUT = "flower"


def write_flower(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    """Nothing at all of a cultivar grown for its leaves."""
    if material.foliage_only:
        return []
    return [_first(planting), _peak(planting), _season(planting), _weeks(planting), _leaf(planting), _last(planting)]


def _first(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["first_bloom_week"]
    first_photo = next((point for point in planting.days if point.bloom_cover is not None), None)
    if first_photo is not None and first_photo.taken_on == number.on:
        words: tuple[str, str] = ("In flower on its first photo already, in ", ".")
    else:
        words = ("In flower from ", ".")
    return draft("first_bloom", ABOUT, words[0], Quoted(number, False), words[1], planting_id=planting.id)


def _peak(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["peak"]
    on = f" on {day_words(number.on)}." if number.on else "."
    return draft("peak", ABOUT, "Bloom cover peaked at ", Quoted(number), on, planting_id=planting.id)


def _season(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["season_bloom"]
    measured = [point.taken_on for point in planting.days if point.bloom_cover is not None]
    span = f" from {day_words(measured[0])} to {day_words(measured[-1])}." if measured else "."
    return draft("season_bloom", ABOUT, "Bloom cover averaged ", Quoted(number), span, planting_id=planting.id)


def _weeks(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["weeks_in_bloom"]
    return draft(
        "weeks_in_bloom",
        ABOUT,
        "It held half of its peak bloom or more for ",
        Quoted(number),
        ".",
        planting_id=planting.id,
    )


def _leaf(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["flower_to_leaf_most"]
    on = f" at the most, on {day_words(number.on)}." if number.on else "."
    return draft("flower_to_leaf", ABOUT, "Flower to leaf was ", Quoted(number), on, planting_id=planting.id)


def _last(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["bloom_cover_latest"]
    if number.on is not None and len(planting.days) == 1:
        return NotOffered("bloom_last", ABOUT, "there is one measured date only", planting.id)
    on = f"On {day_words(number.on)}, the last date, bloom cover was " if number.on else "On the last date it was "
    return draft("bloom_last", ABOUT, on, Quoted(number), ".", planting_id=planting.id)
