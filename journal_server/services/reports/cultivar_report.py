"""One cultivar of one trial on a page: the verdict, its pictures, its numbers, and how sure they are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from journal_server.domain.verdict_fields import PLACE_WORDS
from journal_server.errors import NotFound
from journal_server.services.compare_plantings import Asked, compare_plantings, growth_of_planting
from journal_server.services.journal import Journal
from journal_server.services.reports.agreement_part import agreement_in_short
from journal_server.services.reports.changed_numbers import changed_words
from journal_server.services.reports.document import Beside, Block, Document, Heading, Notice, Paragraph, Strong
from journal_server.services.reports.figures import season_curves
from journal_server.services.reports.gathered import Gathered, Grown
from journal_server.services.reports.notices import cultivar_notices, measured_days
from journal_server.services.reports.options import Options
from journal_server.services.reports.parts import (
    INTERVALS,
    MADE_SCENES,
    ONE_PLANTER,
    SHARES,
    document_name,
    made,
    methods_words,
    paragraphs,
    picture_blocks,
    subtitle,
    verdict_answers,
)
from journal_server.services.reports.photo_choice import choose_photos
from journal_server.services.reports.pictures import LARGE_PX
from journal_server.services.reports.planting_parts import (
    care_part,
    key_numbers,
    noted_part,
    numbers_part,
    planting_words,
    plantings_table,
)

MOST_BESIDE, MOST_IN_A_ROW = 3, 5
"""Pictures that fit beside the key numbers, and in a row of their own."""
LONG_VERDICT = 1200
"""Characters that a verdict beside the table of numbers may have: longer ones run over the whole width."""
WRITTEN = (("strengths", "Strengths"), ("weaknesses", "Weaknesses"), ("companions", "Companions"))


def cultivar_report(journal: Journal, gathered: Gathered, cultivar_id: str, options: Options) -> Document:
    """Raises NotFound where the cultivar has no planting in this trial."""
    grown = gathered.of_cultivar(cultivar_id)
    if not grown:
        raise NotFound("This cultivar has no planting in this trial.")
    name, notices = grown[0].name, cultivar_notices(grown)
    blocks: list[Block] = [
        *_said_first(gathered, grown),
        *([Notice(tuple(notices))] if notices else []),
        *_pictures(journal, gathered, grown, options),
        *(block for one in grown for block in season_curves(one, named=len(grown) > 1)),
        *_verdict_and_numbers(journal, gathered, grown),
        Paragraph((Strong("How sure. "), _how_sure(journal, gathered, grown)), "quiet"),
    ]
    about = subtitle(gathered, options)
    return Document(
        document_name(f"{name} {gathered.words}", cultivar_id),
        name,
        about,
        made(f"{name}, {gathered.words}", options),
        tuple(blocks),
        close=True,
    )


def _pictures(journal: Journal, gathered: Gathered, grown: Sequence[Grown], options: Options) -> list[Block]:
    """The pictures beside the key numbers; more than three stand in rows of their own above them."""
    choice = choose_photos(gathered, grown)
    count, numbers = len(choice.photos), len(grown) == 1 and bool(measured_days(grown[0]))
    columns = count if MOST_BESIDE < count <= MOST_IN_A_ROW else MOST_BESIDE
    pictures = picture_blocks(journal, choice.photos, choice.says, options, columns=columns, longest_px=LARGE_PX)
    if not numbers:
        return pictures
    if pictures and count <= MOST_BESIDE:
        return [Beside(tuple(pictures), (key_numbers(grown[0], stacked=True),), (3, 1))]
    return [*pictures, key_numbers(grown[0])]


def _verdict_and_numbers(journal: Journal, gathered: Gathered, grown: Sequence[Grown]) -> list[Block]:
    """What was written and noted, beside the table of numbers where that is of one planting."""
    verdict, numbers = _written(journal, gathered, grown), numbers_part(grown)
    told = [
        *_standing(journal, gathered, grown),
        *([plantings_table(grown)] if len(grown) > 1 else [planting_words(grown[0])]),
        *noted_part(journal, grown),
        *care_part(journal, gathered, grown),
    ]
    if len(grown) > 1:
        return [*verdict, *numbers, *told]
    if sum(len(block.text) for block in verdict if isinstance(block, Paragraph)) > LONG_VERDICT:
        return [*verdict, Beside(tuple(told), tuple(numbers))]
    return [Beside((*verdict, *told), tuple(numbers))]


def _places(grown: Sequence[Grown]) -> list[str]:
    return list(dict.fromkeys(one.place for one in grown))


def _said_first(gathered: Gathered, grown: Sequence[Grown]) -> list[Block]:
    """The one line and the answers of the verdict; of each place where there are two."""
    places, blocks = _places(grown), list[Block]()
    for place in places:
        verdict = gathered.verdict(grown[0].cultivar.id, place)
        where = (f"{PLACE_WORDS[place][:1].upper()}{PLACE_WORDS[place][1:]}: ",) if len(places) > 1 else ()
        if verdict and verdict.get("one_line"):
            blocks.append(Paragraph((*where, verdict["one_line"]), "lead"))
        blocks.append(Paragraph((*where, *verdict_answers(verdict))))
    return blocks


def _written(journal: Journal, gathered: Gathered, grown: Sequence[Grown]) -> list[Block]:
    """What somebody wrote of it, and which of the numbers in it have changed since."""
    places, blocks, changes = _places(grown), list[Block](), changed_words(journal, gathered)
    for place in places:
        verdict: dict[str, Any] = gathered.verdict(grown[0].cultivar.id, place) or {}
        said = [*paragraphs(verdict.get("text"))]
        for name, words in WRITTEN:
            said += [
                Paragraph((Strong(f"{words}. "), *part.words))
                for part in paragraphs(verdict.get(name))
                if isinstance(part, Paragraph)
            ]
        changed = changes.get((grown[0].cultivar.id, place), [])
        if said or changed:
            blocks += [Heading(f"Verdict, {PLACE_WORDS[place]}" if len(places) > 1 else "Verdict"), *said]
            blocks += [Notice(tuple(changed))] if changed else []
    return blocks


def _standing(journal: Journal, gathered: Gathered, grown: Sequence[Grown]) -> list[Block]:
    """Where it stands among the cultivars of its trial, and how it grew beside its genus."""
    of = "canopy_fill" if grown[0].season.foliage_only else "season_bloom"
    said = []
    if of == "season_bloom":
        compared = compare_plantings(journal, Asked("cultivar", of, trial_id=gathered.trial.id))
        ranks = compared.comparison.ranks
        own = next((rank for rank in ranks if rank.contender.key == grown[0].cultivar.id), None)
        if own and len(ranks) > 1:
            tie = f", a tie with {len(own.tied_with)} of them" if own.tied_with else ""
            said.append(f"By season bloom it ranks {own.words} of the {len(ranks)} cultivars of this trial{tie}.")
    for one in grown:
        where = f"{one.season.place}: " if len(grown) > 1 else ""
        said += [f"{where}{words}" for words in growth_of_planting(journal, one.season.planting_id)["sentences"]]
    return [Paragraph((" ".join(said),))] if said else []


def _how_sure(journal: Journal, gathered: Gathered, grown: Sequence[Grown]) -> str:
    agreement = agreement_in_short(journal, gathered.trial.id)
    return f"{INTERVALS} {SHARES} {methods_words(grown)} {ONE_PLANTER} {agreement} {MADE_SCENES}"
