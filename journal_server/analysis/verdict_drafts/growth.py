"""Sentences about filling in: how fast, how full, how far over the rim, how even, and beside others of its genus."""

from __future__ import annotations

from journal_server.analysis.genus_growth import GrowthRemark, beside_genus, fills_of
from journal_server.analysis.quotable import DAYS, SHARE, QuotableNumber
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, Quoted, draft
from journal_server.domain.dates import day_words
from journal_server.domain.words import counted

ABOUT = "growth"

#: Evenness from which the plants of a row count as even: common practice, no source.
EVEN = 0.8


def write_growth(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    found = [*_fill(planting), _full_size(planting), _evenness(planting)]
    if material.place == "container":
        found.append(_spill(planting))
    return [*found, *_beside_genus(planting, material)]


def _fill(planting: PlantingMaterial) -> list[Draft]:
    half, ninety = (planting.numbers[key] for key in ("days_to_50", "days_to_90"))
    only_half = draft("fill_half", ABOUT, "Half full after ", Quoted(half), ".", planting_id=planting.id)
    if half.estimate and ninety.estimate:
        parts = ("Half full after ", Quoted(half), ", nine tenths full after ", Quoted(ninety), ".")
        return [draft("fill", ABOUT, *parts, planting_id=planting.id)]
    full = draft("fill_full", ABOUT, "Nine tenths full after ", Quoted(ninety), ".", planting_id=planting.id)
    return [only_half, full]


def _full_size(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["full_size"]
    return draft(
        "full_size", ABOUT, "It levelled off with ", Quoted(number), " of its frame filled.", planting_id=planting.id
    )


def _evenness(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["evenness_latest"]
    word = "even" if number.estimate and number.estimate.value >= EVEN else "uneven"
    words = (f"The plants stood {word}: evenness ", " on the last photo, where 1 is quite even.")
    return draft("evenness", ABOUT, words[0], Quoted(number), words[1], planting_id=planting.id)


def _spill(planting: PlantingMaterial) -> Draft:
    number = planting.numbers["spill_most"]
    on = f" below the rim at the most, on {day_words(number.on)}." if number.on else "."
    return draft("spill", ABOUT, "It hung ", Quoted(number), on, planting_id=planting.id)


def _beside_genus(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    """Only what is more than error and more than the others differ by."""
    others = [season for season in material.seasons if season.genus == material.genus]
    growth = beside_genus(planting.season, others, fills_of([planting.season, *others]))
    return [_remark(planting, material, remark) for remark in growth.remarks]


def _remark(planting: PlantingMaterial, material: VerdictMaterial, remark: GrowthRemark) -> Draft:
    count = len(remark.other_plantings)
    beside = f"the median of {counted(count, 'other planting')} of {material.genus}"
    beside = beside if count > 1 else f"the other {material.genus}"
    word = f"{remark.word[:1].upper()}{remark.word[1:]} for its genus: "
    in_days = remark.name == "days_to_50"
    own = planting.numbers["days_to_50" if in_days else "full_size"]
    theirs = QuotableNumber(
        f"{own.key}_of_genus", planting.id, f"{own.words}, {beside}", DAYS if in_days else SHARE, remark.others
    )
    lead = "half full after " if in_days else "it levelled off at "
    parts = (word + lead, Quoted(own), " against ", Quoted(theirs), f" ({beside}).")
    return draft(f"genus_{own.key}", ABOUT, *parts, planting_id=planting.id)
