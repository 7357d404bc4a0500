"""Where a cultivar stands: among its genus with ties said, against the standard, and in the other kind of place."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from journal_server.analysis.differences import difference
from journal_server.analysis.quotable import POINTS, RANK, SHARE, WORDS, QuotableNumber
from journal_server.analysis.ranking import Contender, Rank, group_estimate, rank
from journal_server.analysis.verdict_drafts.material import Beside, PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import Draft, NotOffered, Quoted, draft
from journal_server.domain.verdict_fields import PLACE_WORDS, other_place
from journal_server.domain.words import listed
from journal_server.measurement.result import Estimate

ABOUT = "beside others"

#: So many names of those tied with are said.
MOST_NAMES = 3


@dataclass(frozen=True)
class Standing:
    """The rank of the cultivar among ``of`` cultivars, itself included."""

    rank: Rank
    of: int


def write_standing(material: VerdictMaterial) -> list[Draft]:
    key = "full_size" if material.foliage_only else "season_bloom"
    return [_among_genus(material, key), *_against_standard(material, key), *_elsewhere(material, key)]


def place_among(material: VerdictMaterial, key: str) -> Standing | None:
    """The cultivar's rank among its genus in the same kind of place by this number; None where it has none."""
    contenders = [_contender(one, key) for one in (material.own, *material.genus_mates)]
    known = [one for one in contenders if one is not None]
    ranks = rank(known, most=_most(key))
    own = next((one for one in ranks if one.contender.key == material.cultivar_id), None)
    return Standing(own, len(known)) if own else None


def _most(key: str) -> float:
    return inf if key == "fade_most" else 1.0


def _contender(one: Beside, key: str) -> Contender | None:
    estimate = one.estimate(key, _most(key))
    return Contender(one.cultivar_id, estimate) if estimate else None


def _among_genus(material: VerdictMaterial, key: str) -> Draft:
    standing = place_among(material, key)
    if standing is None:
        reasons = [reason for one in material.plantings if (reason := one.numbers[key].reason)]
        return NotOffered("genus_rank", ABOUT, reasons[0] if reasons else "no planting of it was measured")
    if standing.of < 2:
        reason = f"no other cultivar of {material.genus} was measured {material.place_words} here"
        return NotOffered("genus_rank", ABOUT, reason)
    number = _rank_number(material, standing, key)
    where = f" of {standing.of} {material.genus} {material.place_words} here by {WORDS[key]}"
    return draft("genus_rank", ABOUT, "It ranks ", Quoted(number, False), f"{where}{_tied(material, standing)}.")


def _rank_number(material: VerdictMaterial, standing: Standing, key: str) -> QuotableNumber:
    """The ranks that it may have; its value is the better one."""
    ranks = standing.rank
    estimate = Estimate(float(ranks.best), float(ranks.best), float(ranks.worst))
    words = f"rank among {material.genus} by {WORDS[key]}"
    return QuotableNumber(f"rank_{key}", material.plantings[0].id, words, RANK, estimate)


def _tied(material: VerdictMaterial, standing: Standing) -> str:
    tied = set(standing.rank.tied_with)
    names = [one.name for one in material.genus_mates if one.cultivar_id in tied]
    if not names:
        return ", surely apart from the others" if standing.of > 2 else ", surely apart from the other"
    if len(names) > MOST_NAMES:
        return f", tied with {len(names)} of them"
    return f", tied with {listed(names)}"


def _against_standard(material: VerdictMaterial, key: str) -> list[Draft]:
    if material.standard is None:
        return [NotOffered("against_standard", ABOUT, "no cultivar of the trial is marked as the standard")]
    if material.standard == material.cultivar_id:
        return []
    own = material.own.estimate(key, 1.0)
    standards = [one for one in material.beside if one.cultivar_id == material.standard]
    standards.sort(key=lambda one: one.place != material.place)
    held = next(((one, e) for one in standards if (e := one.estimate(key, 1.0))), None)
    if own is None or held is None:
        of = "it" if own is None else "the standard"
        return [NotOffered("against_standard", ABOUT, f"{WORDS[key]} of {of} was not measured")]
    standard, theirs = held
    change = difference(theirs, own)
    words = f"{WORDS[key]} above the standard"
    number = QuotableNumber(f"{key}_over_standard", material.plantings[0].id, words, POINTS, change)
    sure = "no more than measuring error" if change.low <= 0 <= change.high else "more than measuring error"
    other = "" if standard.place == material.place else f", which stood {PLACE_WORDS[standard.place]}"
    lead = f"Against the standard {standard.name}{other}, its {WORDS[key]} is "
    return [draft("against_standard", ABOUT, lead, Quoted(number), f": {sure}.")]


def _elsewhere(material: VerdictMaterial, key: str) -> list[Draft]:
    """Container and ground of one cultivar side by side; nothing where it stood in one of them only."""
    if not material.elsewhere or not material.plantings:
        return []
    here, there = (_mean(plantings, key) for plantings in (material.plantings, material.elsewhere))
    if here is None or there is None:
        reason = f"{WORDS[key]} is not known of both container and ground"
        return [NotOffered("container_ground", ABOUT, reason)]
    change = difference(_known(there), _known(here))
    sure = "no more than measuring error" if change.low <= 0 <= change.high else "more than measuring error"
    words = WORDS[key]
    lead, there_words = f"{words[:1].upper()}{words[1:]} was ", PLACE_WORDS[other_place(material.place)]
    parts = (lead, Quoted(here), f" {material.place_words}, ", Quoted(there), f" {there_words}: {sure} apart.")
    return [draft("container_ground", ABOUT, *parts)]


def _mean(plantings: tuple[PlantingMaterial, ...], key: str) -> QuotableNumber | None:
    """The number itself where there is one planting that has it, else the mean of several."""
    known = [one.numbers[key] for one in plantings if one.numbers[key].estimate]
    if len(known) < 2:
        return known[0] if known else None
    estimate = group_estimate([_known(one) for one in known], 1.0)
    photo_ids = tuple(photo_id for one in known for photo_id in one.photo_ids)
    methods = tuple(sorted({method for one in known for method in one.methods}))
    words = f"{WORDS[key]}, mean of {len(known)} plantings"
    return QuotableNumber(
        f"{key}_of_all", known[0].planting_id, words, SHARE, estimate, photo_ids=photo_ids, methods=methods
    )


def _known(number: QuotableNumber) -> Estimate:
    if number.estimate is None:
        raise ValueError(f"{number.key} is not known")
    return number.estimate
