"""All drafts of one verdict together, and every number that they and its text may stand on."""

from __future__ import annotations

from dataclasses import dataclass, replace

from journal_server.analysis.quotable import QuotableNumber
from journal_server.analysis.verdict_drafts.colour import write_colour
from journal_server.analysis.verdict_drafts.flower import write_flower
from journal_server.analysis.verdict_drafts.growth import write_growth
from journal_server.analysis.verdict_drafts.heat import write_heat
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import ABOUT, Draft, DraftSentence, NotOffered, Suggestion
from journal_server.analysis.verdict_drafts.standing import write_standing
from journal_server.analysis.verdict_drafts.suggestions import suggest
from journal_server.analysis.verdict_drafts.trust import write_trust, write_trust_of_all
from journal_server.analysis.verdict_drafts.upkeep import write_upkeep

OF_A_PLANTING = (write_growth, write_flower, write_colour, write_upkeep, write_heat, write_trust)
OF_ALL = (write_standing, write_trust_of_all)


@dataclass(frozen=True)
class VerdictDrafts:
    """Sentences in the order of `ABOUT`, those not offered with their reasons, and choices that are suggested."""

    sentences: tuple[DraftSentence, ...]
    not_offered: tuple[NotOffered, ...]
    suggestions: tuple[Suggestion, ...]
    numbers: tuple[QuotableNumber, ...]


def draft_verdict(material: VerdictMaterial) -> VerdictDrafts:
    """Everything that can be offered for a cultivar in one kind of place.

    Returns
    -------
    VerdictDrafts; its ``numbers`` are all that a text may stand on, known or not, each once
    """
    several = len(material.plantings) > 1
    found: list[Draft] = []
    for planting in material.plantings:
        of_planting = [one for write in OF_A_PLANTING for one in write(planting, material)]
        found += [_named(one, planting) for one in of_planting] if several else of_planting
    if material.plantings:
        found += [one for write in OF_ALL for one in write(material)]
    ordered = sorted(found, key=lambda one: ABOUT.index(one.about))
    sentences = tuple(one for one in ordered if isinstance(one, DraftSentence))
    not_offered = tuple(one for one in ordered if isinstance(one, NotOffered))
    suggestions = tuple(suggest(material))
    numbers: dict[tuple[str, str], QuotableNumber] = {}
    for own in (*material.plantings, *material.elsewhere):
        numbers |= {(own.id, key): number for key, number in own.numbers.items()}
    for quoted in (*(one.numbers for one in sentences), *(one.numbers for one in suggestions)):
        numbers |= {(number.planting_id, number.key): number for number in quoted}
    return VerdictDrafts(sentences, not_offered, suggestions, tuple(numbers.values()))


def _named(one: Draft, planting: PlantingMaterial) -> Draft:
    """Of several plantings each sentence says which it is about."""
    if isinstance(one, NotOffered):
        return one
    first = one.parts[0]
    led = first[:1].lower() + first[1:] if isinstance(first, str) else first
    lead = f"{planting.season.place}: "
    parts = (lead + led, *one.parts[1:]) if isinstance(led, str) else (lead, *one.parts)
    return replace(one, parts=parts)
