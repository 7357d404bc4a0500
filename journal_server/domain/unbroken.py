"""What stays on one line: a number with its unit, an interval, a day with its month. The text itself stays as it is."""

from __future__ import annotations

import re
from itertools import pairwise

_NUMBER = r"[−+-]?[0-9](?:[0-9.,]{0,8}[0-9])?"
_MONTH = (
    "January|February|March|April|May|June|July|August|September|October|November|December"
    "|Jan|Feb|Mar|Apr|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
)
_UNIT = rf"%|°[CF]|(?:cm|mm|MB|days?|weeks?|times|{_MONTH})\b"
_PATTERN = rf"(?<![\w.,–])(?:(?:week|day|dE00|rank) )?{_NUMBER}(?:–{_NUMBER})?(?: (?:{_UNIT}))?(?![\w–])"
_RUN = re.compile(_PATTERN)
_WORD = re.compile(rf"(?:{_PATTERN}|\S)+")


def runs(text: str) -> list[tuple[str, bool]]:
    """The text in parts, each with whether it must stay on one line; joined they are the text."""
    found = [one.span() for one in _RUN.finditer(text) if " " in one[0] or "–" in one[0]]
    ends = [0, *(end for span in found for end in span), len(text)]
    parts = [(text[start:end], (start, end) in found) for start, end in pairwise(ends)]
    return [part for part in parts if part[0]]


def unbroken_words(text: str) -> list[str]:
    """The words of a text, those that stay on one line taken together."""
    return _WORD.findall(text)
