"""Counts and lists as every sentence says them."""

from __future__ import annotations

from collections.abc import Sequence


def counted(count: int, one: str, many: str | None = None) -> str:
    """'1 planter', '2 planters'."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """'A', 'A and B', 'A, B and C'."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""
