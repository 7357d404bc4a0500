"""Where the numbers that a text stands on are in it. Pure; phones find them by the same table of cases."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple


class TextPart(NamedTuple):
    """A piece of a text; ``quoted`` is the place of its number in the list of quoted ones, None for plain words."""

    text: str
    quoted: int | None = None


class _Found(NamedTuple):
    text: int
    start: int
    end: int


def worded(shown: str, interval: str | None) -> str:
    """A number with its interval as it stands in a text: "61 % (57–65)"."""
    return f"{shown} ({interval})" if interval else shown


def quoted_parts(texts: Sequence[str | None], quoted: Sequence[Mapping[str, Any]]) -> list[list[TextPart]]:
    """Each text in pieces, so that every quoted number that still stands in one of them is a piece of its own.

    A number is looked for with its interval first, then without. Where the same words stand in several places, it is
    the place whose words before it are most like those that stood before it when it was put in; each is found once.
    """
    plain = [_plain(text or "") for text in texts]
    found: dict[int, _Found] = {}
    for number, one in enumerate(quoted):
        place = _find(plain, one, list(found.values()))
        if place is not None:
            found[number] = place
    return [_pieces(text or "", at, found) for at, text in enumerate(texts)]


def still_quoted(texts: Sequence[str | None], quoted: Sequence[Mapping[str, Any]]) -> list[int]:
    """The places in the list of those that still stand in one of the texts."""
    return sorted(part.quoted for parts in quoted_parts(texts, quoted) for part in parts if part.quoted is not None)


def _plain(text: str) -> str:
    """Spaces that do not break count as spaces; no character is added or lost."""
    return text.replace("\u00a0", " ").replace("\u202f", " ")


def _find(texts: Sequence[str], quoted: Mapping[str, Any], taken: Sequence[_Found]) -> _Found | None:
    before = _plain(quoted.get("before") or "").rstrip()
    for words in dict.fromkeys((worded(quoted["shown"], quoted.get("interval")), quoted["shown"])):
        places = [
            place
            for number, text in enumerate(texts)
            for match in re.finditer(rf"(?<![\w.,–−-]){re.escape(_plain(words))}(?!\w|[.,–]\d)", text)
            if not _overlaps(place := _Found(number, match.start(), match.end()), taken)
        ]
        if places:
            return max(places, key=lambda place: _alike(texts[place.text][: place.start].rstrip(), before))
    return None


def _overlaps(place: _Found, taken: Sequence[_Found]) -> bool:
    return any(one.text == place.text and place.start < one.end and one.start < place.end for one in taken)


def _alike(text: str, before: str) -> int:
    """How many characters at their ends are the same."""
    count = 0
    while count < min(len(text), len(before)) and text[-1 - count] == before[-1 - count]:
        count += 1
    return count


def _pieces(text: str, number: int, found: Mapping[int, _Found]) -> list[TextPart]:
    pieces, at = [], 0
    here = sorted((place.start, place.end, quoted) for quoted, place in found.items() if place.text == number)
    for start, end, quoted in here:
        if start > at:
            pieces.append(TextPart(text[at:start]))
        pieces.append(TextPart(text[start:end], quoted))
        at = end
    if at < len(text):
        pieces.append(TextPart(text[at:]))
    return pieces
