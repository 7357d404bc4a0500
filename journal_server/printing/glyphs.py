"""Which characters the fonts at hand can draw, and the names of those that they cannot."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache

from fontTools.ttLib import TTFont, TTLibError

from journal_server.printing.fonts import loaded_fonts

_UNSEEN = ("Cc", "Cf", "Mn", "Me", "Zs", "Zl", "Zp")
"""Categories of characters that draw nothing by themselves."""


def drawable(text: str) -> str:
    """The text with each character that no font can draw spelled out, as in "[blossom]"."""
    if text.isascii():
        return text
    return "".join(one if _can_be_drawn(one) else f"[{_name(one)}]" for one in text)


def _name(one: str) -> str:
    return unicodedata.name(one, f"U+{ord(one):04X}").lower()


def _can_be_drawn(one: str) -> bool:
    if one.isascii() or unicodedata.category(one) in _UNSEEN:
        return True
    return ord(one) in _own_characters() or ord(one) in _system_characters()


@cache
def _own_characters() -> frozenset[int]:
    return _characters(loaded_fonts().own_files)


@cache
def _system_characters() -> frozenset[int]:
    """Read only when a character is met that the program's own fonts lack."""
    return _characters(loaded_fonts().system_files)


def _characters(files: Iterable[tuple[str, int]]) -> frozenset[int]:
    found: set[int] = set()
    for path, index in files:
        try:
            with TTFont(path, fontNumber=index, lazy=True) as font:
                found |= (font.getBestCmap() or {}).keys()
        except (TTLibError, OSError, KeyError, AssertionError):
            continue  # an old or broken font of this computer is no reason not to print
    return frozenset(found)
