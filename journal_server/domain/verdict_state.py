"""How far a verdict is, and which numbers under its text have changed. Pure; phones share the table of cases."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

NOT_BEGUN, BEGUN, WRITTEN = "not begun", "begun", "written"

#: What a written verdict has, with the words for what is missing.
NEEDED = {"grow_again": "grow again", "one_line": "one line", "text": "text", "next_year": "next year"}
NEEDED_TO_BE_WRITTEN = ("grow_again", "one_line", "text")

TEXTS = ("text", "one_line", "strengths", "weaknesses", "companions")
"""The fields in which quoted numbers may stand."""

GONE = "it can no longer be had"
NOT_KNOWN = "not known"


def worded(shown: str, interval: str | None) -> str:
    """A number with its interval as it stands in a text: "61 % (57–65)"."""
    return f"{shown} ({interval})" if interval else shown


def missing(fields: Mapping[str, Any]) -> list[str]:
    """What is not said yet, in words."""
    return [words for name, words in NEEDED.items() if not fields.get(name)]


def state(fields: Mapping[str, Any] | None) -> str:
    """'not begun' without a record or with nothing in it; 'written' with grow again, one line and text."""
    about = ("trial_id", "cultivar_id", "place")
    if fields is None or not any(
        value not in (None, "", [], {}) for name, value in fields.items() if name not in about
    ):
        return NOT_BEGUN
    return WRITTEN if all(fields.get(name) for name in NEEDED_TO_BE_WRITTEN) else BEGUN


def changed_numbers(quoted: Sequence[Mapping[str, Any]], now: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Those quoted numbers that are worded otherwise now, unless a person has seen that wording and kept the text.

    ``now`` has key, planting_id, shown (None where it is not known), interval and reason of each number. Answers the
    place in the list, how it was worded and how it is (None where it is not known, with the reason).
    """
    known = {(one["planting_id"], one["key"]): one for one in now}
    changed = []
    for place, one in enumerate(quoted):
        here = known.get((one["planting_id"], one["key"]))
        shown = here["shown"] if here else None
        words = worded(shown, here["interval"]) if here and shown else None
        was = worded(one["shown"], one.get("interval"))
        if (words or NOT_KNOWN) in (was, one.get("kept")):
            continue
        reason = None if words else (here or {}).get("reason") or GONE
        changed.append({"place": place, "key": one["key"], "planting_id": one["planting_id"], "was": was, "now": words,
                        "reason": reason})  # fmt: skip
    return changed
