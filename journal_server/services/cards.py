"""Which cards are printed: those of the plantings, and spare ones with codes that nothing has yet."""

from __future__ import annotations

import secrets
from collections.abc import Sequence

from sqlalchemy.orm import Session

from journal_server.domain.cards import new_card_code
from journal_server.domain.cultivar_names import words_of_fields
from journal_server.errors import InputRefused, NotFound
from journal_server.printing.cards import PAPERS_MM, PrintedCard, draw_cards
from journal_server.services.journal import Journal
from journal_server.storage.records import load_records
from journal_server.storage.set_up_queries import card_codes_in_photos, card_codes_of_plantings

MOST_SPARE = 60


def choose_cards(journal: Journal, planting_ids: Sequence[str] | None = None, *, spare: int = 0) -> list[PrintedCard]:
    """The cards of these plantings (None: of all that still stand), then spare ones, each time with fresh codes.

    Raises NotFound for a planting that is not there, InputRefused where no card is left or too many are spare.
    """
    if not 0 <= spare <= MOST_SPARE:
        raise InputRefused(f"From 0 to {MOST_SPARE} spare cards are made at once, not {spare}.", "spare")
    cards = [*cards_of(journal, planting_ids), *spare_cards(journal, spare)]
    if not cards:
        says = "There is no planting yet to print a card for. Set up the trial first, or ask for spare cards."
        raise InputRefused(says)
    return cards


def print_cards(journal: Journal, cards: Sequence[PrintedCard], paper: str | None = None) -> bytes:
    """A PDF of the cards, on the paper of the settings where none is said."""
    paper = paper or journal.setting("paper")
    if paper not in PAPERS_MM:
        raise InputRefused(f"The paper must be one of: {', '.join(PAPERS_MM)}.", "paper")
    return draw_cards(cards, paper)


def cards_of(journal: Journal, planting_ids: Sequence[str] | None = None) -> list[PrintedCard]:
    """The cards of the given plantings, or of all that still stand, in walking order."""
    with journal.database.reading() as session:
        plantings = load_records(session, "planting")
        cultivars = {r.id: r.fields for r in load_records(session, "cultivar")}
        planters = {r.id: r.fields for r in load_records(session, "planter")}
    if set(planting_ids or ()) - {p.id for p in plantings}:
        raise NotFound("There is no such planting.")
    chosen = [p for p in plantings if (not p.fields["removed_on"] if planting_ids is None else p.id in planting_ids)]
    chosen.sort(key=lambda p: (planters[p.fields["planter_id"]]["walk_order"] or 0, p.id))
    return [
        PrintedCard(
            p.fields["card_code"],
            words_of_fields(cultivars[p.fields["cultivar_id"]]),
            planters[p.fields["planter_id"]]["name"],
        )
        for p in chosen
        if p.fields["card_code"]
    ]


def spare_cards(journal: Journal, count: int) -> list[PrintedCard]:
    """Cards for plantings to come. Nothing is kept of them: a code counts once it is written down at a planting."""
    with journal.database.reading() as session:
        taken = _codes_in_use(session)
    cards = []
    for _ in range(count):
        code = new_card_code(taken, secrets.choice)
        taken.add(code)
        cards.append(PrintedCard(code, spare=True))
    return cards


def _codes_in_use(session: Session) -> set[str]:
    """Of plantings past and present, and of spare cards that stand already: they are seen in photos."""
    return card_codes_of_plantings(session) | card_codes_in_photos(session)
