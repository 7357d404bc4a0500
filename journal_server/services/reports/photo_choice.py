"""Which photos a report shows: those chosen in the verdict; where none was, the first, the peak, the latest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from journal_server.domain.words import counted, listed
from journal_server.services.reports.gathered import Gathered, Grown, Shot

ROLES = {
    "best": "The best of it",
    "before": "Before",
    "after": "After",
    "peak": "At its peak",
    "latest": "Latest",
}
"""The pictures that a verdict may choose, in the order in which they are shown, and what is said of each."""

FIRST, FULLEST, ONLY = "First photo", "At its fullest", "The only photo"

STANDS_FOR = {
    ROLES["before"]: {FIRST},
    ROLES["after"]: {ROLES["latest"]},
    ROLES["peak"]: {ROLES["peak"], FULLEST},
    ROLES["latest"]: {ROLES["latest"]},
}
"""What the journal would show, for which a person has chosen another photo."""


@dataclass(frozen=True)
class Chosen:
    """A photo and why it is shown."""

    role: str
    one: Grown
    shot: Shot


@dataclass(frozen=True)
class Choice:
    """The photos to show, and a sentence that says who chose them."""

    photos: tuple[Chosen, ...]
    says: str


def choose_photos(gathered: Gathered, grown: Sequence[Grown]) -> Choice:
    """For one cultivar. What a verdict chose goes before what the journal would choose; each photo is shown once."""
    found: list[Chosen] = []
    by_person = gone = 0
    for place in dict.fromkeys(one.place for one in grown):
        there = [one for one in grown if one.place == place]
        verdict = gathered.verdict(there[0].cultivar.id, place) or {}
        wanted = {role: id_ for role, id_ in (verdict.get("pictures") or {}).items() if role in ROLES and id_}
        picked = list(_picked(wanted, there))
        gone += len(wanted) - len(picked)
        by_person += len(picked)
        taken = set().union(*(STANDS_FOR.get(chosen.role, set()) for chosen in picked))
        own = [photo for one in there for photo in usual_photos(one, few=len(grown) > 1) if photo.role not in taken]
        found += _once(picked + own)
    return Choice(tuple(found), _says(by_person, [chosen.role for chosen in found], gone))


def peak_shot(one: Grown) -> Chosen | None:
    """The usable photo with most bloom; of plants that never surely bloomed the one with most canopy."""
    for number, role in (("bloom_cover", ROLES["peak"]), ("canopy_fill", FULLEST)):
        if number == "bloom_cover" and one.numbers["peak"].estimate is None:
            continue
        known = [(value, shot) for shot in one.shots if (value := _value(shot, number)) is not None]
        value, shot = max(known, key=lambda pair: pair[0], default=(0.0, None))
        if shot is not None and value > 0:
            return Chosen(role, one, shot)
    dated = [shot for shot in one.shots if shot.day]
    return Chosen(ROLES["latest"], one, dated[-1]) if dated else None


def usual_photos(one: Grown, *, few: bool) -> list[Chosen]:
    """First, peak, latest; of several plantings only peak and latest."""
    dated = [shot for shot in one.shots if shot.usable and shot.day] or [shot for shot in one.shots if shot.day]
    peak = peak_shot(one)
    if not dated or peak is None:
        return []
    if len(one.shots) == 1:
        return [Chosen(ONLY, one, one.shots[0])]
    first = [] if few else [Chosen(FIRST, one, dated[0])]
    ordered = sorted([peak, *first], key=lambda chosen: str(chosen.shot.photo.fields["taken_at"]))
    return _once([*ordered, Chosen(ROLES["latest"], one, dated[-1])], keep=peak)


def _picked(wanted: dict[str, str], grown: Sequence[Grown]) -> Iterator[Chosen]:
    shown = {shot.photo.id: (one, shot) for one in grown for shot in one.shots}
    for role, words in ROLES.items():
        if wanted.get(role) in shown:
            yield Chosen(words, *shown[wanted[role]])


def _once(photos: Sequence[Chosen], keep: Chosen | None = None) -> list[Chosen]:
    """Each photo once, under the role of ``keep`` where that is one of them."""
    found: dict[str, Chosen] = {}
    for one in photos:
        id_ = one.shot.photo.id
        found[id_] = keep if keep and keep.shot.photo.id == id_ else found.get(id_, one)
    return list(found.values())


def _value(shot: Shot, number: str) -> float | None:
    if not shot.usable or shot.measured is None or shot.day is None:
        return None
    estimate = shot.measured["numbers"].get(number)
    return float(estimate["value"]) if estimate else None


def _says(by_person: int, roles: Sequence[str], gone: int) -> str:
    lost = f" {counted(gone, 'picture')} chosen there is no longer among its photos." if gone else ""
    if by_person:
        others = ", the others by the journal" if len(roles) > by_person else ""
        return f"Pictures chosen in the verdict{others}.{lost}"
    if set(roles) <= {ONLY}:
        return lost.strip()
    said = listed(list(dict.fromkeys(role[:1].lower() + role[1:] for role in roles)))
    return f"Pictures chosen by the journal: {said}.{lost}"
