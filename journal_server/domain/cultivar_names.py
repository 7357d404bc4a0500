"""What a cultivar was called before it was renamed. Pure; phones foresee it by the same table of cases."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

NAMED_BY = ("genus", "species", "name")


def cultivar_words(fields: Mapping[str, Any]) -> str:
    """Petunia ‘Plum Gaslight’: the cultivar name in single quotes."""
    latin = [fields.get("genus"), fields.get("species")]
    name = fields.get("name")
    return " ".join(part for part in (*latin, f"‘{name}’" if name else None) if part)


def earlier_names(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """All names that it had and has no more, the latest last."""
    had, has = cultivar_words(before), cultivar_words(after)
    known = [name for name in before.get("earlier_names") or [] if name not in (had, has)]
    return known if had in ("", has) else [*known, had]
