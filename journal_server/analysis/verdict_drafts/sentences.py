"""What a draft is made of: words and numbers; and the rule that a sentence without its number is not offered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from journal_server.analysis.quotable import QuotableNumber

#: What sentences are about, in the order in which they are offered.
ABOUT = ("growth", "flower", "colour", "upkeep", "heat", "beside others", "how far to trust it")


class Quoted(NamedTuple):
    """A number within a sentence; ``with_bounds`` puts its interval in brackets behind it."""

    number: QuotableNumber
    with_bounds: bool = True


Part = str | Quoted


def _numbers_in(parts: tuple[Part, ...]) -> tuple[QuotableNumber, ...]:
    return tuple(part.number for part in parts if isinstance(part, Quoted))


@dataclass(frozen=True)
class DraftSentence:
    """A sentence that can be put into a verdict. ``planting_id`` is None where it is about all plantings."""

    key: str
    about: str
    parts: tuple[Part, ...]
    planting_id: str | None = None

    @property
    def numbers(self) -> tuple[QuotableNumber, ...]:
        return _numbers_in(self.parts)


@dataclass(frozen=True)
class NotOffered:
    """A sentence that cannot be offered, and why: a number in it is not known."""

    key: str
    about: str
    reason: str
    planting_id: str | None = None


@dataclass(frozen=True)
class Suggestion:
    """A choice that the numbers speak for, offered and never set; ``parts`` say why."""

    field: str
    value: str
    parts: tuple[Part, ...]
    planting_id: str | None = None

    @property
    def numbers(self) -> tuple[QuotableNumber, ...]:
        return _numbers_in(self.parts)


Draft = DraftSentence | NotOffered


def draft(key: str, about: str, *parts: Part, planting_id: str | None = None) -> Draft:
    """The sentence of these parts, or the reason of the first number in it that is not known.

    Raises ValueError for something that sentences are not about.
    """
    if about not in ABOUT:
        raise ValueError(f"sentences are about {ABOUT}, not {about!r}")
    for part in parts:
        if isinstance(part, Quoted) and part.number.estimate is None:
            return NotOffered(key, about, part.number.reason or "not known", planting_id)
    return DraftSentence(key, about, parts, planting_id)
