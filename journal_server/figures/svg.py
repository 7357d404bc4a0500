"""Building SVG text safely: everything that is not already SVG is escaped, and no number can be NaN."""

from __future__ import annotations

import re
from math import isfinite

from journal_server.domain.unbroken import unbroken_words

#: Text in the colour of the page around, so that a figure is ink on paper and paper on ink in the dark.
INK = "currentColor"
PAPER = "var(--paper, Canvas)"
#: Greys that stand in where the colour of leaves or of bloom was not measured.
UNKNOWN = "#8c8c8c"
UNKNOWN_BLOOM = "#c9c9c9"
MUTED = 0.68
HAIRLINE = 0.18
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, sans-serif"
SMALL_PX = 11
TEXT_PX = 13
_SPELLED = 14
"""Letters that a sign takes where its name stands for it."""

_HEX = re.compile(r"#[0-9a-fA-F]{6}")
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Svg(str):
    """Text that is SVG already and must not be escaped again."""


def escape(text: str) -> Svg:
    """Text for element content or a double-quoted attribute; characters that XML forbids become U+FFFD."""
    clean = _NOT_XML.sub("\ufffd", text)
    for char, code in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        clean = clean.replace(char, code)
    return Svg(clean)


def number(value: float) -> str:
    """At most two decimals, no exponent. Raises ValueError where the value is not finite."""
    if not isfinite(value):
        raise ValueError(f"a figure cannot hold the number {value!r}")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def px(value: float) -> str:
    """A coordinate in a path, to a tenth of a pixel; finite like every `number`."""
    return number(round(float(value), 1))


def tag(name: str, *children: str | None, **attributes: str | float | None) -> Svg:
    """One element. ``class_`` gives ``class``, ``data_photo`` gives ``data-photo``; None is left out."""
    parts = [name]
    for key, value in attributes.items():
        if value is not None:
            text = escape(value) if isinstance(value, str) else number(value)
            parts.append(f'{key.rstrip("_").replace("_", "-")}="{text}"')
    inside = join(*children)
    return Svg(f"<{' '.join(parts)}>{inside}</{name}>" if inside else f"<{' '.join(parts)}/>")


def join(*children: str | None) -> Svg:
    """Children one after the other; what is not yet `Svg` is escaped."""
    return Svg("".join(c if isinstance(c, Svg) else escape(c) for c in children if c is not None))


def text(x: float, y: float, words: str, *, size: float = SMALL_PX, **attributes: str | float | None) -> Svg:
    """A line of text in ink."""
    return tag("text", words, x=x, y=y, font_size=size, fill=INK, **attributes)


def haloed(x: float, y: float, words: str, *, size: float = SMALL_PX, **attributes: str | float | None) -> Svg:
    """Text with an edge of paper, readable where it crosses lines."""
    return text(x, y, words, size=size, stroke=PAPER, stroke_width=3, paint_order="stroke", **attributes)


def line(x1: float, y1: float, x2: float, y2: float, *, opacity: float = HAIRLINE, **more: str | float | None) -> Svg:
    """A thin straight line in ink."""
    return tag("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=INK, stroke_opacity=opacity, **more)


def colour(code: str | None) -> str | None:
    """The ``#rrggbb`` code if it is one, else None."""
    return code.lower() if code is not None and _HEX.fullmatch(code) else None


def document(name: str, width: float, height: float, title: str, desc: str, *children: str | None) -> Svg:
    """A whole figure: role, title and description first; ``name`` begins every id in it."""
    return tag(
        "svg",
        tag("title", title, id=f"{name}-title"),
        tag("desc", desc, id=f"{name}-desc"),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        id=name,
        class_="fig",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
        width=width,
        height=height,
        viewBox=f"0 0 {number(width)} {number(height)}",
        font_family=FONT,
    )


def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """Rough width in pixels; system typefaces differ, so it errs on the wide side."""
    return len(words) * size * (0.6 if bold else 0.55)


def shorten(words: str, size: float, room_px: float, *, bold: bool = False) -> str:
    """The words, cut with an ellipsis where they do not fit."""
    if text_width(words, size, bold=bold) <= room_px:
        return words
    fits = int(room_px / text_width("x", size, bold=bold)) - 1
    return words[:fits].rstrip() + "…" if fits > 0 else ""


def wrap(words: str, size: float, room_px: float) -> list[str]:
    """The words in lines that fit; a word that is longer than a line is cut."""
    lines: list[str] = []
    for word in (piece for whole in unbroken_words(words) for piece in _fitting(whole, size, room_px)):
        if lines and _spelled_width(f"{lines[-1]} {word}", size) <= room_px:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _fitting(word: str, size: float, room_px: float) -> list[str]:
    longest = max(1, int(len(word) * room_px / max(_spelled_width(word, size), 1)))
    return [word[at : at + longest] for at in range(0, len(word), longest)]


def _spelled_width(words: str, size: float) -> float:
    """On paper signs that no font has are spelled out: "[cherry blossom]"."""
    return text_width(words, size) + text_width("x" * _SPELLED, size) * sum(ord(one) > 0xFFFF for one in words)
