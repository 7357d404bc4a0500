"""Quotes of the evidence behind things to look at, and the evidence as a table to copy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.look_at.things import DE00, Evidence, LookAt
from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.quotable import DAYS, SHARE, QuotableNumber
from journal_server.analysis.quotable import DE00 as FADE
from journal_server.domain.cultivar_names import cultivar_words
from journal_server.domain.dates import full_day_words
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import per_cent, quotable_interval, quotable_value
from journal_server.measurement.result import Estimate
from journal_server.services.quotes import NOBODY, Named, Quoted, quote, source_words
from journal_server.services.season import method_of, photo_facts
from journal_server.storage.records import current_measurements, load_by_ids

UNITS = {"share": SHARE, "days": DAYS, DE00: FADE}
HEADERS = ("day", "number", "value", "90 % interval")


def quoted_things(session: Session, things: Sequence[LookAt], named: Mapping[str, Named]) -> list[dict[str, Any]]:
    """The things as plain dicts, each number of their evidence with its ``quote``, each thing with its ``copies``.

    ``named``: planting id -> how its planting is named.
    """
    facts = _facts(session, {id_ for thing in things for one in thing.evidence for id_ in one.photo_ids})
    return [_quoted(thing, named.get(thing.planting_id, NOBODY), facts) for thing in things]


def _quoted(thing: LookAt, of: Named, facts: Mapping[str, PhotoFacts]) -> dict[str, Any]:
    given = thing.as_dict()
    evidence = [
        written | {"quote": _quote(one, of, _photos(one, facts))}
        for one, written in zip(thing.evidence, given["evidence"], strict=True)
    ]
    return given | {"evidence": evidence, "copies": _table(thing, of, facts).as_dict()["copies"]}


def _quote(one: Evidence, of: Named, photos: tuple[PhotoFacts, ...]) -> dict[str, str]:
    value, interval = _said(one)
    return quote(Quoted(one.words, value, interval, (one.on,) if one.on else (), of, photos))


def _said(one: Evidence) -> tuple[str, str]:
    """Value and interval in words; a number that was not measured from one photo has no interval."""
    if one.low is not None and one.high is not None:
        estimate = Estimate(one.value, one.low, one.high)
        number = QuotableNumber("evidence", "", one.words, UNITS.get(one.unit, one.unit), estimate)
        return quotable_value(number), quotable_interval(number) or ""
    if one.unit == "share":
        return per_cent(one.value), ""
    if one.unit == DE00:
        return f"dE00 {one.value:.1f}", ""
    unit = one.unit.removesuffix("s") if round(one.value) == 1 else one.unit
    return f"{one.value:.0f} {unit}", ""


def _table(thing: LookAt, of: Named, facts: Mapping[str, PhotoFacts]) -> FigureTable:
    rows = [(full_day_words(one.on) if one.on else "", one.words, *_said(one)) for one in thing.evidence]
    place = f" in {of.place}" if of.place else ""
    title = f"{cultivar_words(of.genus, of.cultivar)}{place}: {thing.sentence}"
    photos = {id_: facts[id_] for one in thing.evidence for id_ in one.photo_ids if id_ in facts}
    return FigureTable(title, HEADERS, tuple(rows), source_words(photos.values()))


def _photos(one: Evidence, facts: Mapping[str, PhotoFacts]) -> tuple[PhotoFacts, ...]:
    return tuple(facts[id_] for id_ in one.photo_ids if id_ in facts)


def _facts(session: Session, photo_ids: set[str]) -> dict[str, PhotoFacts]:
    measured = current_measurements(session, photo_ids)
    return {
        photo.id: photo_facts(photo, method_of(measured[photo.id]["fields"]) if photo.id in measured else None)
        for photo in load_by_ids(session, photo_ids)
    }
