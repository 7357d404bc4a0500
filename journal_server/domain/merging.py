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
    """
    apply: dict[str, Any] = {}
    conflicts: list[FieldConflict] = []
    merged = False
    for name, value in edit.items():
        seen = None if base is None else base.get(name, 0)
        if seen is None or field_versions.get(name, 0) <= seen or stored.get(name) == value:
            apply[name] = value
        else:
            conflicts.append(FieldConflict(name, value, stored.get(name)))
    if base:
        newest_seen = max(base.values())
        merged = any(v > newest_seen for name, v in field_versions.items() if name not in edit)
    return MergeDecision({} if conflicts else apply, merged, tuple(conflicts))
