"""What a device may do: a reader reads, a helper also walks and notes, the owner may do everything."""

from __future__ import annotations

READER, HELPER, OWNER = "reader", "helper", "owner"
ROLES = (READER, HELPER, OWNER)
"""From the least to the most."""

WALK_KINDS = frozenset(
    {"walk", "visit", "finding", "rating", "care", "plant_count", "point_count", "look_at_answer", "photo", "recording"}
)
"""What is noted on a walk or on its photos: a helper may change these, the set-up of a trial only its owner."""


def is_at_least(role: str, least: str) -> bool:
    return ROLES.index(role) >= ROLES.index(least)


def may_change(role: str, kind: object) -> bool:
    """Whether a device of this role may change records of this kind."""
    return role == OWNER or (role == HELPER and kind in WALK_KINDS)
