"""Which planting a photo shows, decided from its date, the card in it and the photos around it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from statistics import median

from journal_server.domain.dates import full_day_words

SAME_STOP = timedelta(seconds=75)
"""Two photos this close in time were most likely taken at the same planter (common practice, no source)."""
FEW_MINUTES = timedelta(minutes=6)


@dataclass(frozen=True)
class PlantingFacts:
    id: str
    card_code: str | None
    planted_on: date
    removed_on: date | None
    walk_order: float
    name: str

    def stands_on(self, day: date) -> bool:
        return self.planted_on <= day and (self.removed_on is None or day <= self.removed_on)


@dataclass(frozen=True)
class PhotoFacts:
    """``codes``: all card codes read in the photo, of whichever journal."""

    id: str
    taken_at: datetime | None
    moment_doubtful: bool
    codes: tuple[str, ...]


@dataclass(frozen=True)
class Placed:
    """A photo whose planting is known (by its card or by a person)."""

    photo_id: str
    taken_at: datetime
    planting_id: str


@dataclass(frozen=True)
class Match:
    """``state`` is 'matched' (by card and date), 'suggested' (one tap settles it) or 'question'."""

    state: str
    planting_id: str | None
    suggestion: str | None
    reason: str
    choices: tuple[str, ...] = ()


class Plantings:
    """All plantings, found by id and by card without going through them for each of many thousand photos."""

    def __init__(self, plantings: Iterable[PlantingFacts]):
        self.all = tuple(plantings)
        self.by_id = {planting.id: planting for planting in self.all}
        self._by_card: dict[str | None, list[PlantingFacts]] = {}
        for planting in self.all:
            self._by_card.setdefault(planting.card_code, []).append(planting)

    def with_card(self, code: str) -> Sequence[PlantingFacts]:
        """Those that ever had the card, in any season."""
        return self._by_card.get(code, ())


def match_by_card(photo: PhotoFacts, plantings: Plantings) -> Match | None:
    """Decide by the card and the date; None when no card was read."""
    if not photo.codes:
        return None
    known = {code: plantings.with_card(code) for code in photo.codes}
    strangers = [code for code, found in known.items() if not found]
    candidates = [p for found in known.values() for p in found]
    choices = tuple(p.id for p in candidates)
    if len(photo.codes) > 1:
        names = " and ".join(photo.codes)
        only = candidates[0].id if len(candidates) == 1 and strangers else None
        return Match("question", None, only, f"Several cards are in the picture: {names}.", choices)
    code = photo.codes[0]
    if strangers:
        return Match("question", None, None, f"No planting in this journal has the card {code}.")
    if photo.taken_at is None:
        reason = f"The card is {code}, but it is not known when the photo was taken."
        return Match("question", None, candidates[0].id if len(candidates) == 1 else None, reason, choices)
    day = photo.taken_at.date()
    standing = [p for p in candidates if p.stands_on(day)]
    if len(standing) == 1 and not photo.moment_doubtful:
        return Match("matched", standing[0].id, None, f"Card {code} and the date.")
    if len(standing) == 1:
        reason = f"The card is {code}, but the date {full_day_words(day)} is doubtful."
        return Match("suggested", None, standing[0].id, reason, choices)
    if len(standing) > 1:
        return Match("question", None, None, f"Two plantings had the card {code} on {full_day_words(day)}.", choices)
    return _outside_its_time(code, day, candidates)


def _outside_its_time(code: str, day: date, candidates: Sequence[PlantingFacts]) -> Match:
    nearest = min(candidates, key=lambda p: _days_outside(p, day))
    if day < nearest.planted_on:
        planted = full_day_words(nearest.planted_on)
        reason = f"The card {code} was seen on {full_day_words(day)}, before {nearest.name} was planted ({planted})."
    else:
        removed = full_day_words(nearest.removed_on) if nearest.removed_on else ""
        reason = f"The card {code} was seen on {full_day_words(day)}, after {nearest.name} was removed ({removed})."
    return Match("question", None, None, reason, tuple(p.id for p in candidates))


def _days_outside(planting: PlantingFacts, day: date) -> int:
    if day < planting.planted_on:
        return (planting.planted_on - day).days
    return (day - planting.removed_on).days if planting.removed_on else 0


def match_by_walk(
    photo: PhotoFacts,
    unplaced: Sequence[PhotoFacts],
    placed: Sequence[Placed],
    plantings: Sequence[PlantingFacts],
) -> Match:
    """Suggest by the photos around it on the same day; never more than a suggestion.

    ``unplaced`` are all photos of that day without a card (this one among them), ``placed`` those whose planting is
    known. Rules in order: seconds from a placed photo, the same planter; between two placed ones with exactly as many
    unphotographed planters between them in walking order as there are photos, the one in its turn; after the last
    placed one at walking pace, the next; within a few minutes of a placed one, the same planter.
    """
    if photo.taken_at is None:
        return Match("question", None, None, "No card was read and it is not known when the photo was taken.")
    standing = sorted(
        (p for p in plantings if p.stands_on(photo.taken_at.date())),
        key=lambda p: (p.walk_order, p.name, p.id),
    )
    if not plantings:
        return Match("question", None, None, "No planting is set up yet.")
    if not standing:
        return Match("question", None, None, f"No planting was standing on {full_day_words(photo.taken_at.date())}.")
    by_id = {p.id: p for p in standing}
    row = [x for x in sorted(placed, key=lambda x: x.taken_at) if x.planting_id in by_id]
    before = [x for x in row if x.taken_at <= photo.taken_at]
    after = [x for x in row if x.taken_at > photo.taken_at]
    previous, following = (before[-1] if before else None), (after[0] if after else None)
    found = (
        _same_stop(photo, previous, following)
        or _in_its_turn(photo, unplaced, previous, following, row, standing)
        or _few_minutes(photo, previous, following)
    )
    if found is None:
        return Match(
            "question", None, None, "No card was read and no photo near it in time tells where it was taken.",
            tuple(_likely(standing, row)),
        )  # fmt: skip
    planting_id, why = found
    return Match("suggested", None, planting_id, why.format(name=by_id[planting_id].name), (planting_id,))


Found = tuple[str, str] | None


def _gap(photo: PhotoFacts, other: Placed | None) -> timedelta:
    assert photo.taken_at is not None
    return abs(photo.taken_at - other.taken_at) if other else timedelta.max


def _same_stop(photo: PhotoFacts, previous: Placed | None, following: Placed | None) -> Found:
    nearest = previous if _gap(photo, previous) <= _gap(photo, following) else following
    if nearest is None or _gap(photo, nearest) > SAME_STOP:
        return None
    seconds = round(_gap(photo, nearest).total_seconds())
    return nearest.planting_id, f"Taken {seconds} seconds from a photo of {{name}}."


def _in_its_turn(
    photo: PhotoFacts,
    unplaced: Sequence[PhotoFacts],
    previous: Placed | None,
    following: Placed | None,
    row: Sequence[Placed],
    standing: Sequence[PlantingFacts],
) -> Found:
    assert photo.taken_at is not None
    order = [p.id for p in standing]
    photographed = {x.planting_id for x in row}
    first = order.index(previous.planting_id) + 1 if previous else 0
    last = order.index(following.planting_id) if following else len(order)
    turn = [p for p in order[first:last] if p not in photographed]
    since = previous.taken_at if previous else None
    until = following.taken_at if following else None
    here = sorted(
        (u.taken_at, u.id)
        for u in unplaced
        if u.taken_at is not None and (since is None or u.taken_at > since) and (until is None or u.taken_at < until)
    )
    place = [photo_id for _, photo_id in here].index(photo.id) if (photo.taken_at, photo.id) in here else None
    if place is None or not turn or place >= len(turn):
        return None
    if previous and following and len(turn) == len(here):
        return turn[place], "{name} is next in walking order between the photos before and after."
    if (previous is None) != (following is None) and _at_walking_pace(photo, here, previous or following, row, order):
        if previous:
            return turn[place], "{name} comes next in walking order, at the pace of this walk."
        if len(turn) == len(here):
            return turn[place], "{name} comes before the first matched photo in walking order."
    return None


def _at_walking_pace(
    photo: PhotoFacts,
    here: Sequence[tuple[datetime, str]],
    anchor: Placed | None,
    row: Sequence[Placed],
    order: Sequence[str],
) -> bool:
    """Whether it was taken after (or before) the anchor at the pace of this walk, in time from place to place."""
    gaps = [
        (b.taken_at - a.taken_at).total_seconds() / abs(order.index(b.planting_id) - order.index(a.planting_id))
        for a, b in pairwise(row)
        if a.planting_id != b.planting_id
    ]
    if len(gaps) < 2 or anchor is None:
        return False
    steps = 1 + sum(
        1 for taken_at, _ in here if min(anchor.taken_at, _at(photo)) < taken_at < max(anchor.taken_at, _at(photo))
    )
    pace = _gap(photo, anchor).total_seconds() / steps
    return 0.4 * median(gaps) <= pace <= 2.5 * median(gaps)


def _at(photo: PhotoFacts) -> datetime:
    assert photo.taken_at is not None
    return photo.taken_at


def _few_minutes(photo: PhotoFacts, previous: Placed | None, following: Placed | None) -> Found:
    if previous is None or _gap(photo, previous) > FEW_MINUTES:
        return None
    if following and following.planting_id == previous.planting_id:
        return previous.planting_id, "Taken between two photos of {name}."
    minutes = max(1, round(_gap(photo, previous).total_seconds() / 60))
    unit = "minute" if minutes == 1 else "minutes"
    return previous.planting_id, f"Taken {minutes} {unit} after a photo of {{name}}."


def _likely(standing: Sequence[PlantingFacts], row: Sequence[Placed]) -> list[str]:
    photographed = {x.planting_id for x in row}
    return [p.id for p in standing if p.id not in photographed] or [p.id for p in standing]
