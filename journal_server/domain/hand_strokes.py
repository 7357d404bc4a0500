"""What a person paints over a photo to correct its classes: strokes in displayed pixels, within limits."""

from __future__ import annotations

import json
from typing import Any

from journal_server.domain.field_checks import shown
from journal_server.errors import InputRefused

PAINTED_CLASSES = ("bloom", "foliage", "spent", "other")
MOST_STROKES = 2000
MOST_POINTS = 2000
"""In one stroke."""
MOST_BYTES = 200_000
"""Of all strokes of a photo as JSON: every phone that is paired holds them."""
WIDEST_PX = 20_000.0
_FARTHEST_PX = 100_000.0


def strokes(value: Any) -> list[dict[str, Any]]:
    """``[{"class", "width", "points": [[x, y], ...]}, ...]`` in the order of painting, or InputRefused."""
    if not isinstance(value, list) or not value:
        raise InputRefused("A correction has at least one stroke; one that is taken back is deleted instead.")
    if len(value) > MOST_STROKES:
        raise InputRefused(f"These are {len(value)} strokes; at most {MOST_STROKES} fit.")
    checked = [_stroke(given) for given in value]
    size = len(json.dumps(checked, separators=(",", ":")))
    if size > MOST_BYTES:
        raise InputRefused(f"The strokes take {size} bytes; at most {MOST_BYTES} fit. Paint with fewer, wider strokes.")
    return checked


def _stroke(given: Any) -> dict[str, Any]:
    if not isinstance(given, dict) or set(given) != {"class", "width", "points"}:
        raise InputRefused(f"A stroke has a class, a width and points; {shown(given)} has not.")
    if given["class"] not in PAINTED_CLASSES:
        raise InputRefused(f"A stroke paints one of: {', '.join(PAINTED_CLASSES)}; not {shown(given['class'])}.")
    width, points = given["width"], given["points"]
    if not (_is_number(width) and 0.1 <= width <= WIDEST_PX):
        raise InputRefused(f"A stroke is 0.1 to {WIDEST_PX:g} pixels wide, not {shown(width)}.")
    if not isinstance(points, list) or not 1 <= len(points) <= MOST_POINTS:
        raise InputRefused(f"A stroke has 1 to {MOST_POINTS} points.")
    return {"class": given["class"], "width": round(float(width), 1), "points": [_point(point) for point in points]}


def _point(given: Any) -> list[float]:
    if not (isinstance(given, list) and len(given) == 2 and all(map(_is_number, given))):
        raise InputRefused(f"A point is two numbers [x, y]; {shown(given)} is not.")
    if not all(abs(number) <= _FARTHEST_PX for number in given):  # also of what is not a number
        raise InputRefused(f"The point {shown(given)} lies too far outside any photo.")
    return [round(float(given[0]), 1), round(float(given[1]), 1)]


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
