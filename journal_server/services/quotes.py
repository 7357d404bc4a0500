"""Numbers as they are put into a text: with interval, day and source, as plain text, Markdown and HTML.

Made here alone. What a screen shows comes with its quote, so that a phone copies it without a signal too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.quotable import CM, QuotableNumber
from journal_server.domain.cultivar_names import cultivar_words
from journal_server.domain.dates import full_day_words, span_words
from journal_server.domain.markup import html_text, markdown_text, one_line
from journal_server.domain.units import CM_AN_INCH, INCHES, METRIC, Units
from journal_server.domain.words import counted
from journal_server.figures.words import quotable_interval, quotable_value
from journal_server.measurement.result import Estimate
from journal_server.services.season import StoredSeason

FEW_PHOTOS = 2
"""So many photos are named; of more, the number and the days are said."""


@dataclass(frozen=True)
class Named:
    """The planting that a number is of; the genus is Latin and stands in italics."""

    genus: str = ""
    cultivar: str = ""
    place: str = ""


NOBODY = Named()


def named_as(stored: StoredSeason) -> Named:
    season = stored.season
    return Named(season.genus, season.cultivar, season.place)


@dataclass(frozen=True)
class Quoted:
    """A number with all that is said of it: ``days`` is the day, or the first and the last, that it refers to."""

    what: str
    value: str
    interval: str = ""
    days: tuple[date, ...] = ()
    of: Named = NOBODY
    photos: tuple[PhotoFacts, ...] = ()
    notes: tuple[str, ...] = ()


class _Part(NamedTuple):
    """Words with what stands before and after them; ``kind`` says how they are set. A day is in ISO 8601."""

    before: str
    words: str
    kind: str = "plain"
    after: str = ""

    @property
    def said(self) -> str:
        return full_day_words(date.fromisoformat(self.words)) if self.kind == "day" else one_line(self.words)


def quote(quoted: Quoted) -> dict[str, str]:
    """The number in one sentence without a full stop, in each of the three formats."""
    parts = [part for part in _parts(quoted) if part.words]
    return {
        "text": "".join(f"{p.before}{p.said}{p.after}" for p in parts),
        "markdown": "".join(f"{p.before}{_MARKDOWN[p.kind].format(markdown_text(p.said))}{p.after}" for p in parts),
        "html": f"<p>{''.join(f'{p.before}{_html(p)}{p.after}' for p in parts)}</p>",
    }


def quote_number(
    number: QuotableNumber,
    of: Named,
    facts: Mapping[str, PhotoFacts],
    *,
    units: Units = METRIC,
    notes: tuple[str, ...] = (),
) -> dict[str, str] | None:
    """The quote of one of a planting's numbers; None where it is not known. ``facts`` are those of its photos."""
    if number.estimate is None:
        return None
    shown = in_units(number, units)
    photos = tuple(facts[photo_id] for photo_id in number.photo_ids if photo_id in facts)
    # A number that rests on the photos of many days says so with its photos.
    days = (number.on,) if number.on and len(days_of(photos)) < 2 else ()
    interval = quotable_interval(shown) or ""
    return quote(Quoted(number.words, quotable_value(shown), interval, days, of, photos, notes))


def in_units(number: QuotableNumber, units: Units) -> QuotableNumber:
    """A length as the person reads lengths; any other number as it is."""
    if number.unit != CM or units.length != INCHES or number.estimate is None:
        return number
    value, low, high = (one / CM_AN_INCH for one in (number.estimate.value, number.estimate.low, number.estimate.high))
    return replace(number, unit=INCHES, estimate=Estimate(value, low, high))


def source_words(photos: Collection[PhotoFacts], *, of: Named = NOBODY) -> str:
    """Under a table: of what, how many photos of which days, and the methods that measured them."""
    place = f" in {of.place}" if of.place else ""
    whole = f"{cultivar_words(of.genus, of.cultivar)}{place}".strip()
    return "; ".join(filter(None, (whole, _photos_words(photos), _measured_by(photos))))


def methods_of(photos: Iterable[PhotoFacts]) -> tuple[str, ...]:
    return tuple(sorted({photo.method for photo in photos if photo.method}))


def days_of(photos: Iterable[PhotoFacts]) -> list[date]:
    """The days of the photos, each once, in order."""
    return sorted({date.fromisoformat(photo.taken_at[:10]) for photo in photos if photo.taken_at})


def _parts(quoted: Quoted) -> list[_Part]:
    words = quoted.what
    of = quoted.of
    return [
        _Part("", f"{words[:1].upper()}{words[1:]}"),
        _Part(": ", quoted.value, "value"),
        _Part(" (90 % interval ", quoted.interval, after=")"),
        *_day_parts(quoted.days),
        _Part(", ", of.genus, "latin"),
        _Part(" ‘" if of.genus else ", ‘", of.cultivar, "name", "’"),
        _Part(" in " if of.genus or of.cultivar else ", ", of.place, "name"),
        *_photo_parts(quoted.photos),
        *(_Part(", ", note) for note in (_measured_by(quoted.photos), *quoted.notes)),
    ]


def _day_parts(days: Sequence[date]) -> list[_Part]:
    if not days:
        return []
    first, last = days[0], days[-1]
    if first == last:
        return [_Part(" on ", first.isoformat(), "day")]
    return [_Part(" from ", first.isoformat(), "day"), _Part(" to ", last.isoformat(), "day")]


def _photo_parts(photos: Sequence[PhotoFacts]) -> list[_Part]:
    if len(photos) > FEW_PHOTOS:
        return [_Part(", ", _photos_words(photos))]
    before = (", photo ",) if len(photos) == 1 else (", photos ", " and ")
    return [_Part(words, photo.file_name, "name") for words, photo in zip(before, photos, strict=False)]


def _photos_words(photos: Collection[PhotoFacts]) -> str:
    if not photos:
        return ""
    days = days_of(photos)
    count = counted(len(photos), "photo")
    return f"{count}, {span_words(days[0], days[-1])}" if days else count


def _measured_by(photos: Iterable[PhotoFacts]) -> str:
    methods = methods_of(photos)
    return f"measured by {' and '.join(methods)}" if methods else ""


_MARKDOWN: dict[str, str] = {"plain": "{}", "value": "**{}**", "latin": "*{}*", "name": "{}", "day": "{}"}
_HTML: dict[str, str] = {
    "plain": "{}",
    "value": "<strong>{}</strong>",
    # A name may be written from right to left; it must not turn the sentence around it.
    "latin": "<i><bdi>{}</bdi></i>",
    "name": "<bdi>{}</bdi>",
}


def _html(part: _Part) -> str:
    if part.kind == "day":
        return f'<time datetime="{part.words}">{part.said}</time>'
    return _HTML[part.kind].format(html_text(part.said))
