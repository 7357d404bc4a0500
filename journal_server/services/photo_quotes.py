"""Quotes of the numbers of single photos, and of what changed between two of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.quotable import CM, RATIO, SHARE, QuotableNumber
from journal_server.analysis.series import SHARE_WORDS
from journal_server.domain.cultivar_names import cultivar_words
from journal_server.domain.dates import full_day_words, span_words
from journal_server.domain.units import Units
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import per_cent, quotable_interval, quotable_value
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.quotes import (
    NOBODY,
    Named,
    Quoted,
    days_of,
    in_units,
    quote,
    quote_number,
    source_words,
)
from journal_server.services.season import estimate_of, method_of, photo_facts
from journal_server.settings import units_of
from journal_server.storage.records import Record, current_measurements, load_record, load_records

UNITS = {"flower_to_leaf": RATIO, "evenness": RATIO, "spill_cm": CM}
LEFT_OUT = "left out of the season, since the photo cannot be used"
WITHOUT_A_FRAME = "of the whole photo, without a frame"
HEADERS = ("number", "value", "90 % interval")

Quote = dict[str, str]


def quotes_of_planting(journal: Journal, planting_id: str) -> dict[str, Any]:
    """For each measured photo of a planting its measurement's id, a quote for each number, and the table's copies."""
    with journal.database.reading() as session:
        planting = existing(session, "planting", planting_id)
        photos = load_records(session, "photo", equals={"planting_id": planting.id})
        return {"photos": _quotes(session, photos, named_of(session, planting), units_of(journal.settings()))}


def quotes_of_photo(journal: Journal, photo_id: str) -> dict[str, Any]:
    """The same for one photo, which may belong to no planting yet."""
    with journal.database.reading() as session:
        photo = existing(session, "photo", photo_id)
        planting_id = photo.fields["planting_id"]
        planting = load_record(session, planting_id) if planting_id else None
        named = named_of(session, planting) if planting else NOBODY
        return {"photos": _quotes(session, [photo], named, units_of(journal.settings()))}


@dataclass(frozen=True)
class QuotedPair:
    """Two photos of one planting, whose differences are quoted."""

    of: Named
    first: PhotoFacts
    second: PhotoFacts

    def change(self, row: dict[str, Any]) -> Quote | None:
        """The quote of one row of the difference table; None where nothing could be compared."""
        if not row["change"]:
            return None
        both = [row["first_words"], row["second_words"]]
        values = f", {both[0]} then {both[1]}" if all(both) else ""
        unit = " points" if row["change_words"].endswith(("point", "points")) else ""
        return quote(
            Quoted(
                f"change of {row['words']}{values}",
                row["change_words"],
                f"{row['interval']}{unit}",
                tuple(days_of((self.first, self.second))),
                self.of,
                (self.first, self.second),
                (row["verdict"],),
            )
        )

    def colour(self, facts: PhotoFacts, numbers: dict[str, Any] | None) -> Quote | None:
        return _colour_quote(numbers, self.of, facts, ()) if numbers else None

    def table(self, rows: Iterable[dict[str, Any]]) -> FigureTable:
        """The difference table as it is copied."""
        days = days_of((self.first, self.second))
        span = f", {span_words(days[0], days[-1])}" if days else ""
        cells = [
            (
                row["words"],
                row["first_words"] or "",
                row["second_words"] or "",
                row["change_words"] or "",
                row["interval"] or "",
                row["verdict"] or row["reason"] or "",
            )
            for row in rows
        ]
        headers = ("number", "first photo", "second photo", "change", "90 % interval", "verdict")
        title = f"{cultivar_words(self.of.genus, self.of.cultivar)} in {self.of.place}: what changed{span}"
        names = f"photos {self.first.file_name} and {self.second.file_name}"
        source = f"{names}; {source_words((self.first, self.second))}"
        return FigureTable(title, headers, tuple(cells), source)


def _quotes(session: Session, photos: list[Record], named: Named, units: Units) -> dict[str, Any]:
    measured = current_measurements(session, [photo.id for photo in photos])
    return {photo.id: _of_one(photo, measured[photo.id], named, units) for photo in photos if photo.id in measured}


def _of_one(photo: Record, measurement: dict[str, Any], named: Named, units: Units) -> dict[str, Any]:
    numbers = measurement["fields"]["numbers"]
    facts = photo_facts(photo, method_of(measurement["fields"]))
    notes = _notes(measurement)
    shown = [one for one in (_number(photo, numbers, name) for name in SHARE_WORDS) if one]
    quotes = {one.key: quote_number(one, named, {photo.id: facts}, units=units, notes=notes) for one in shown}
    quotes |= {"slots": _slots_quote(numbers, named, facts, notes)}
    quotes |= {"bloom_colour": _colour_quote(numbers, named, facts, notes)}
    return {
        "measurement": measurement["id"],
        "quotes": {key: made for key, made in quotes.items() if made},
        "copies": _table(facts, numbers, named, [in_units(one, units) for one in shown], notes).as_dict()["copies"],
    }


def _notes(measurement: dict[str, Any]) -> tuple[str, ...]:
    """What must be known beside the number."""
    notes = () if measurement["fields"]["frame_polygon"] else (WITHOUT_A_FRAME,)
    return notes if measurement["fields"]["numbers"]["quality"]["usable"] else (*notes, LEFT_OUT)


def _number(photo: Record, numbers: dict[str, Any], name: str) -> QuotableNumber | None:
    estimate, taken_at = estimate_of(numbers.get(name)), photo.fields["taken_at"]
    if not estimate:
        return None
    return QuotableNumber(
        name,
        photo.fields["planting_id"] or "",
        SHARE_WORDS[name],
        UNITS.get(name, SHARE),
        estimate,
        on=date.fromisoformat(taken_at[:10]) if taken_at else None,
        photo_ids=(photo.id,),
    )


def _slots_quote(numbers: dict[str, Any], named: Named, facts: PhotoFacts, notes: tuple[str, ...]) -> Quote | None:
    if not numbers.get("slots"):
        return None
    words = "canopy fill by plant, from one end of the frame to the other"
    return quote(Quoted(words, _slots_words(numbers), "", tuple(days_of((facts,))), named, (facts,), notes))


def _slots_words(numbers: dict[str, Any]) -> str:
    return ", ".join("not known" if share is None else per_cent(share) for share in numbers["slots"])


def _colour_quote(numbers: dict[str, Any], named: Named, facts: PhotoFacts, notes: tuple[str, ...]) -> Quote | None:
    if not numbers.get("bloom_colour"):
        return None
    value = _colour_words(numbers)
    about = (_colour_error(numbers), *notes)
    return quote(Quoted("bloom colour", value, "", tuple(days_of((facts,))), named, (facts,), about))


def _colour_words(numbers: dict[str, Any]) -> str:
    colour = numbers["bloom_colour"]
    lightness, a, b = (f"{axis:.0f}".replace("-", "−") for axis in colour["lab"])
    return f"{colour['hex']}, CIELAB (D65) L* {lightness}, a* {a}, b* {b}"


def _colour_error(numbers: dict[str, Any]) -> str:
    white = "the card's white" if numbers.get("white_reference") == "card" else "an estimated white"
    return f"corrected to {white}, expected error dE00 {numbers['bloom_colour']['error_de00']:.1f}"


def _table(
    facts: PhotoFacts, numbers: dict[str, Any], named: Named, shown: list[QuotableNumber], notes: tuple[str, ...]
) -> FigureTable:
    known = {one.key: one for one in shown}
    rows = [_table_row(numbers, name, known.get(name)) for name in SHARE_WORDS]
    if numbers.get("slots"):
        rows.append(("canopy fill by plant", _slots_words(numbers), ""))
    has_colour = bool(numbers.get("bloom_colour"))
    reason = _reason(numbers, "bloom_colour")
    rows.append(("bloom colour", _colour_words(numbers) if has_colour else reason, ""))
    where = f" in {named.place}" if named.place else ""
    day = full_day_words(days_of((facts,))[0]) if facts.taken_at else "day not known"
    title = ", ".join(filter(None, (f"{cultivar_words(named.genus, named.cultivar)}{where}", day)))
    colour_note = (_colour_error(numbers),) if has_colour else ()
    source = "; ".join((f"photo {facts.file_name}", f"measured by {facts.method}", *colour_note, *notes))
    return FigureTable(title, HEADERS, tuple(rows), source)


def _table_row(numbers: dict[str, Any], name: str, number: QuotableNumber | None) -> tuple[str, str, str]:
    if number is None:
        return (SHARE_WORDS[name], _reason(numbers, name), "")
    return (SHARE_WORDS[name], quotable_value(number), quotable_interval(number) or "")


def _reason(numbers: dict[str, Any], name: str) -> str:
    return str(numbers.get("reasons", {}).get(name, "not known"))


def named_of(session: Session, planting: Record) -> Named:
    cultivar = load_record(session, planting.fields["cultivar_id"])
    planter = load_record(session, planting.fields["planter_id"])
    name = cultivar.fields if cultivar else {}
    return Named(name.get("genus") or "", name.get("name") or "", planter.fields["name"] if planter else "")
