"""Which planting a photo of a walk shows: the one where the phone stood, unless a card speaks against it. Pure."""

from __future__ import annotations

from journal_server.domain.matching import Match, PhotoFacts, PlantingFacts, Plantings


def match_by_visit(photo: PhotoFacts, planting_id: str, plantings: Plantings) -> Match | None:
    """Decide by the planting of the photo's visit; None where that planting is not known.

    The card of another planting standing that day makes it a question between the two, unless the visited planting's
    own card is in the picture as well. A card of no planting, or of one that is gone by then, is only mentioned.
    """
    here = plantings.by_id.get(planting_id)
    if here is None:
        return None
    seen = [p for code in photo.codes for p in plantings.with_card(code)]
    others = [p for p in seen if p.id != here.id and _may_be_seen(p, photo)]
    if others and here.card_code not in photo.codes:
        cards = " and ".join(f"the card {p.card_code} of {p.name}" for p in others)
        reason = f"Taken at {here.name} on the walk, but {cards} is in the picture."
        return Match("question", None, None, reason, (here.id, *(p.id for p in others)))
    strangers = [code for code in photo.codes if code not in {here.card_code, *(p.card_code for p in others)}]
    about_cards = f" No planting standing then has the card {' or '.join(strangers)}." if strangers else ""
    return Match("matched", here.id, None, f"Taken at this planting on the walk.{about_cards}")


def _may_be_seen(planting: PlantingFacts, photo: PhotoFacts) -> bool:
    return photo.taken_at is None or planting.stands_on(photo.taken_at.date())
