"""Card codes: ``TAG-`` and six characters of Crockford's base 32."""

from __future__ import annotations

import re
from collections.abc import Callable, Container

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_CODE = re.compile(rf"TAG-[{CROCKFORD}]{{6}}")


def is_card_code(text: str) -> bool:
    return _CODE.fullmatch(text) is not None


def normal_card_code(text: str) -> str:
    """The code as printed, from what a person typed: capitals, O read as 0, I and L as 1, the prefix added."""
    bare = text.strip().upper().removeprefix("TAG-").removeprefix("TAG").replace(" ", "").replace("-", "")
    return "TAG-" + bare.translate(str.maketrans("OIL", "011"))


def new_card_code(taken: Container[str], choose: Callable[[str], str]) -> str:
    """A code that is not in ``taken``; ``choose`` picks one character (for example ``secrets.choice``)."""
    while True:
        code = "TAG-" + "".join(choose(CROCKFORD) for _ in range(6))
        if code not in taken:
            return code
