"""Sentences about the bloom colour over the season, and how far it moved beside others of its genus."""

from __future__ import annotations

from journal_server.analysis.fade import ColourDifference, fade
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, Quoted, draft
from journal_server.analysis.verdict_drafts.standing import place_among
from journal_server.domain.dates import day_words

ABOUT = "colour"


def write_colour(planting: PlantingMaterial, material: VerdictMaterial) -> list[Draft]:
    """Nothing of a cultivar grown for its leaves."""
    if material.foliage_only:
        return []
    number = planting.numbers["fade_most"]
    most = fade(planting.season).most
    if number.estimate is None or most is None:
        return [draft("fade", ABOUT, Quoted(number), planting_id=planting.id)]
    if number.estimate.low <= 0:
        words = ("The bloom colour held: it moved by ", ", no more than measuring error.")
        return [draft("fade", ABOUT, words[0], Quoted(number), words[1], planting_id=planting.id)]
    lead = f"The bloom colour {_way(most.difference)} by "
    until = f" until {day_words(most.taken_on)}{_beside_genus(planting, material)}."
    return [draft("fade", ABOUT, lead, Quoted(number), until, planting_id=planting.id)]


def _way(change: ColourDifference) -> str:
    """The trade's word for the way it went: less chroma is a fade, more chroma and darker is deeper."""
    if abs(change.dh) > max(abs(change.dl), abs(change.dc)):
        return "turned"
    if change.dc < 0:
        return "faded"
    return "deepened" if change.dl < 0 else "changed"


def _beside_genus(planting: PlantingMaterial, material: VerdictMaterial) -> str:
    """Said only where it is surely first or last, and the cultivar has one planting here that it could be said of."""
    if len(material.plantings) != 1:
        return ""
    standing = place_among(material, "fade_most")
    if standing is None or standing.of < 2:
        return ""
    if standing.rank.worst == 1:
        return ", more than any other of its genus here"
    return ", less than any other of its genus here" if standing.rank.best == standing.of else ""
