"""What becomes of an edit that was made on an older state of a record: one small pure decision."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class FieldConflict:
    field: str
    yours: Any
    theirs: Any


@dataclass(frozen=True)
class MergeDecision:
    """``apply`` holds the fields to write; ``conflicts`` those changed elsewhere meanwhile, with both values."""

    apply: dict[str, Any]
    merged: bool
    conflicts: tuple[FieldConflict, ...] = field(default=())


def decide_merge(
    stored: Mapping[str, Any],
    field_versions: Mapping[str, int],
    edit: Mapping[str, Any],
    base: Mapping[str, int] | None,
) -> MergeDecision:
    """Decide which fields of an edit apply.

    ``field_versions`` says at which version of the record each field was last set, ``base`` which version of each
    field the editor saw. An edit of a field that nobody changed since applies, also when other fields moved on; an
    edit to the value already stored is no conflict. Without ``base`` the editor says: whatever it is now, set it.

    A field without a version in ``base`` was empty where the edit was made (a create is sent with an empty ``base``):
    what is empty there leaves what is set here, and what is set there fills what is empty here.
    """
    apply: dict[str, Any] = {}
    kept = False
    conflicts: list[FieldConflict] = []
    for name, value in edit.items():
        here = stored.get(name)
        seen = None if base is None else base.get(name, 0)
        if here == value or seen is None or field_versions.get(name, 0) <= seen:
            apply[name] = value
        elif seen == 0 and _is_empty(value):
            kept = True
        elif seen == 0 and _is_empty(here):
            apply[name] = value
        else:
            conflicts.append(FieldConflict(name, value, here))
    newest_seen = max(base.values()) if base else None
    moved_on = newest_seen is not None and any(v > newest_seen for n, v in field_versions.items() if n not in edit)
    return MergeDecision({} if conflicts else apply, kept or moved_on, tuple(conflicts))


def _is_empty(value: Any) -> bool:
    """Nothing said: no value, a yes-or-no that was left at no, or an empty list."""
    return value is None or value is False or value == []
