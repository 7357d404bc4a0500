"""What a check finds, and the gathering of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

WRONG, NOTE = "wrong", "note"
NAMED = 5
"""So many of the same trouble are named; the others are counted."""


@dataclass(frozen=True)
class Finding:
    """``grade`` is 'wrong' (something is lost or will not work) or 'note' (worth knowing, nothing is lost)."""

    grade: str
    part: str
    what: str
    mend: str

    def as_dict(self) -> dict[str, Any]:
        return {"grade": self.grade, "part": self.part, "what": self.what, "mend": self.mend}


def together(grade: str, part: str, what: str, which: Iterable[str], mend: str) -> list[Finding]:
    """One finding for all that share a trouble: ``what`` with the first few named. None where there is none."""
    named = list(which)
    if not named:
        return []
    more = f" and {len(named) - NAMED} more" if len(named) > NAMED else ""
    return [Finding(grade, part, f"{what}: {', '.join(named[:NAMED])}{more}.", mend)]
