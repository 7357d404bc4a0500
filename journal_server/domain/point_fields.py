"""What the fields of a point count accept: the points as they were laid, and a letter for what was said at each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from journal_server.domain.field_checks import polygon, shown
from journal_server.errors import InputRefused

FEWEST_POINTS, MOST_POINTS = 10, 400
ANSWERS = "bsfo-"
"""b open bloom, s spent bloom, f foliage, o other, - unanswered."""

HELD_ONCE_ENDED = ("photo_id", "polygon", "points", "answers", "seed", "ended")
"""Once the method's answer has been seen these would no longer be a judgement of its own."""


def points(value: Any) -> list[list[float]]:
    """10 to 400 points [x, y] in displayed pixels of the photo, to a tenth."""
    if not isinstance(value, list) or not FEWEST_POINTS <= len(value) <= MOST_POINTS:
        raise InputRefused(f"A count has {FEWEST_POINTS} to {MOST_POINTS} points.")
    kept = []
    for point in value:
        numbers = point if isinstance(point, list) and len(point) == 2 else []
        if not numbers or any(isinstance(n, bool) or not isinstance(n, int | float) for n in numbers):
            raise InputRefused(f"A point is two numbers [x, y]; {shown(point)} is not.")
        if not all(0 <= number <= 100_000 for number in numbers):
            raise InputRefused(f"The point {shown(point)} lies outside any photo.")
        kept.append([round(float(number), 1) for number in numbers])
    return kept


def answers(value: Any) -> str:
    """One letter a point."""
    if not isinstance(value, str) or not set(value) <= set(ANSWERS):
        raise InputRefused(f"Answers are one letter a point, of {', '.join(ANSWERS)}; not {shown(value)}.")
    if not FEWEST_POINTS <= len(value) <= MOST_POINTS:
        raise InputRefused(f"A count has {FEWEST_POINTS} to {MOST_POINTS} answers.")
    return value


def polygon_or_whole(value: Any) -> list[list[float]] | None:
    """The frame that the points lie in; None where they lie in the whole photo."""
    return None if value is None else polygon(value)


def unequal_lengths(count: Mapping[str, Any]) -> list[InputRefused]:
    """A refusal where there are more or fewer answers than points."""
    laid, said = len(count["points"]), len(count["answers"])
    return [] if laid == said else [InputRefused(f"There are {said} answers for {laid} points.", "answers")]


def changed_once_ended(before: Mapping[str, Any], changing: Mapping[str, Any]) -> list[InputRefused]:
    """A refusal where an ended count would be other than what was said before the method's answer was seen."""
    held = [name for name in HELD_ONCE_ENDED if name in changing] if before.get("ended") else []
    says = "This count was ended, and what was said in it stays as it is. Count other points instead, or delete it."
    return [InputRefused(says, name) for name in held]
