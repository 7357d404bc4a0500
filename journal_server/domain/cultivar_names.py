"""What a cultivar was called before it was renamed. Pure; phones foresee it by the same table of cases."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

NAMED_BY = ("genus", "species", "name")


def cultivar_words(genus: str | None, name: str | None, species: str | None = None) -> str:
    """Petunia ‘Plum Gaslight’: the genus, then the cultivar name in single quotes. The order everywhere."""
    return " ".join(part for part in (genus, species, f"‘{name}’" if name else None) if part)


def words_of_fields(fields: Mapping[str, Any]) -> str:
    """The same, of a cultivar's record."""
    return cultivar_words(*(fields.get(part) for part in ("genus", "name", "species")))


def earlier_names(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """All names that it had and has no more, the latest last."""
    had, has = words_of_fields(before), words_of_fields(after)
    known = [name for name in before.get("earlier_names") or [] if name not in (had, has)]
    return known if had in ("", has) else [*known, had]
