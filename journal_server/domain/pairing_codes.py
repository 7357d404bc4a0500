"""Pairing codes: eight characters, none of which looks like another, typed from one screen into a phone."""

from __future__ import annotations

from collections.abc import Callable

ALPHABET = "ACDEFGHJKMNPQRTVWXY346789"
"""Without 0 and O, 1 and I and L, 2 and Z, 5 and S, B (like 8) and U (like V)."""
LENGTH = 8


def new_pairing_code(choose: Callable[[str], str]) -> str:
    """``choose`` picks one character (for example ``secrets.choice``)."""
    return "".join(choose(ALPHABET) for _ in range(LENGTH))


def typed_pairing_code(text: str) -> str:
    """The code in what a person typed: capitals, without gaps and whatever else no code has."""
    return "".join(character for character in text.upper() if character in ALPHABET)


def spaced(code: str) -> str:
    """In two groups, as it is shown."""
    return f"{code[:4]} {code[4:]}"
