"""What a verdict may say: its choices, the numbers that its text stands on, and the pictures chosen for it."""

from __future__ import annotations

from typing import Any

from journal_server.domain.field_checks import Check, day, number, one_of, record_id, shown, text
from journal_server.errors import InputRefused

PLACES = ("container", "ground")
PLACE_WORDS = {"container": "in a container", "ground": "in the ground"}
GROW_AGAIN = ("yes", "no", "again elsewhere", "undecided")
GOOD_FOR = (
    "container",
    "ground",
    "edge that trails",
    "filler",
    "upright accent",
    "spring to autumn",
    "heat",
    "afternoon shade",
)
NEEDS = ("deadheading", "spraying", "space", "water")
NEXT_YEAR = ("again", "more", "drop", "try elsewhere")
PICTURES = ("best", "peak", "latest", "before", "after")

MOST_QUOTED = 200
MOST_PHOTOS_BEHIND = 500


def place_of(planter_kind: str) -> str:
    """Where a planter of this kind stands: a bed is ground, every other a container."""
    return "ground" if planter_kind == "bed" else "container"


def other_place(place: str) -> str:
    return next(one for one in PLACES if one != place)


def some_of(*choices: str) -> Check:
    """A list of these, each once, kept in the order of the choices."""

    def check(value: Any) -> list[str]:
        if value is None or value == "":
            return []
        if not isinstance(value, list) or any(one not in choices for one in value):
            raise InputRefused(f"This must be a list of some of: {', '.join(choices)}; not {shown(value)}.")
        return [choice for choice in choices if choice in value]

    return check


def pictures(value: Any) -> dict[str, str] | None:
    """For each use the id of the photo chosen for it; None where none is chosen."""
    if value is None or value == {} or value == "":
        return None
    if not isinstance(value, dict) or any(use not in PICTURES for use in value):
        raise InputRefused(f"Pictures are chosen for some of: {', '.join(PICTURES)}; not {shown(value)}.")
    return {use: record_id(value[use]) for use in PICTURES if value.get(use) is not None} or None


def quoted(value: Any) -> list[dict[str, Any]]:
    """The numbers that a text stands on, as they were when it was written."""
    if value is None or value == "":
        return []
    if not isinstance(value, list) or len(value) > MOST_QUOTED:
        raise InputRefused(f"A text stands on at most {MOST_QUOTED} numbers, given as a list.")
    return [_quoted_number(one) for one in value]


_QUOTED: dict[str, Check] = {
    "key": text(60, required=True),
    "planting_id": record_id,
    "shown": text(60, required=True),
    "interval": text(60),
    "value": number(-1e9, 1e9, required=True),
    "low": number(-1e9, 1e9),
    "high": number(-1e9, 1e9),
    "on": day(),
    "before": text(80),
    "kept": text(120),
}
"""``before`` holds the words that stood before the number, to find it again; ``kept`` how a newer value was worded that
a person has seen and did not want in the text."""


def _quoted_number(given: Any) -> dict[str, Any]:
    if not isinstance(given, dict) or set(given) - {*_QUOTED, "photo_ids"}:
        raise InputRefused(f"A quoted number has {', '.join(_QUOTED)} and photo_ids; {shown(given)} does not.")
    kept = {name: check(given.get(name)) for name, check in _QUOTED.items()}
    photo_ids = given.get("photo_ids") or []
    if not isinstance(photo_ids, list) or len(photo_ids) > MOST_PHOTOS_BEHIND:
        raise InputRefused(f"Behind a number stand at most {MOST_PHOTOS_BEHIND} photos, given as a list.")
    return kept | {"photo_ids": [record_id(photo_id) for photo_id in photo_ids]}


VERDICT_CHECKS: dict[str, Check] = {
    "grow_again": one_of(*GROW_AGAIN),
    "good_for": some_of(*GOOD_FOR),
    "needs": some_of(*NEEDS),
    "one_line": text(200),
    "text": text(20000),
    "strengths": text(2000),
    "weaknesses": text(2000),
    "companions": text(500),
    "next_year": one_of(*NEXT_YEAR),
    "quoted": quoted,
    "pictures": pictures,
}
"""What a person says in a verdict, field by field; the number of plants for next year stands in the table of kinds."""
