"""Text put into other texts: escaped for Markdown, HTML and tables, so that a name stays what was typed. Pure."""

from __future__ import annotations

import html
import re
import unicodedata

#: Signs that Markdown (CommonMark, with tables, strikethrough and mathematics) may read as more than themselves.
_MARKDOWN_SIGNS = re.compile(r"([\\`*_\[\]|~$^])")
#: Signs that mean something at the beginning of a line only.
_MARKDOWN_BEGINNING = re.compile(r"^(\d{1,9})([.)])(?=\s|$)|^([-+:#=])")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;"})
_SPACE = re.compile(r"\s+")

#: What a spreadsheet program may take for the beginning of a formula, its full-width twins included.
FORMULA_BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_ONE = r"[+−-]?\d+(?:\.\d+)?"
_A_NUMBER_IN_WORDS = re.compile(
    rf"{_ONE}(?: to {_ONE})?(?: (?:%|points?|days?|weeks?|cm|in))?(?: \({_ONE}(?:–| to ){_ONE}(?: %)?\))?"
)
_NOT_IN_A_FILE_NAME = re.compile(r"[^a-z0-9]+")


def html_text(text: str) -> str:
    """Text for the content of an element or a quoted attribute."""
    return html.escape(_printable(text), quote=True)


def markdown_text(text: str) -> str:
    """Text on one line of Markdown that shows as typed: no markup, no HTML, no link, no table cell of its own."""
    line = _MARKDOWN_SIGNS.sub(r"\\\1", one_line(text))
    line = line.translate(_ENTITIES).replace("://", "&#58;//")
    return _MARKDOWN_BEGINNING.sub(_behind_a_stroke, line)


def _behind_a_stroke(found: re.Match[str]) -> str:
    number, dot, sign = found.groups()
    return f"{number}\\{dot}" if number else f"\\{sign}"


def one_line(text: str) -> str:
    """Text without line ends, tabs or unprintable signs: a cell of tab-separated text, a part of a sentence."""
    return _SPACE.sub(" ", _printable(text)).strip()


def cell_text(text: str) -> str:
    """Text that no spreadsheet program takes for a formula: one that begins like it gets an apostrophe.

    A number in words of this journal ("+5 points (+1 to +9)", "-0.3") begins with a sign and is none.
    """
    if text[:1] in FORMULA_BEGINNINGS and text and not _A_NUMBER_IN_WORDS.fullmatch(text):
        return f"'{text}"
    return text


def file_slug(text: str, most: int = 60) -> str:
    """Lower-case ASCII letters, digits and hyphens; empty where nothing of the text can be written so."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii").lower()
    return _NOT_IN_A_FILE_NAME.sub("-", plain).strip("-")[:most].rstrip("-")


def _printable(text: str) -> str:
    """Without control characters, which no text format can carry; line ends and tabs stay."""
    if text.isprintable():
        return text
    return "".join(sign for sign in text if sign in "\n\t" or unicodedata.category(sign) not in ("Cc", "Cs"))
