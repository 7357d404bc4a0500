"""Names that are markup, formulas or file paths stay what was typed."""

from __future__ import annotations

import html
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.markup import FORMULA_BEGINNINGS, cell_text, file_slug, html_text, markdown_text, one_line

HOSTILE = '<img src=x onerror="a()">\'"&amp; *a* _b_ [x](http://evil.example) | `c` شتلة 🌼 ü'


def test_html_gives_back_what_was_typed_and_holds_no_element() -> None:
    written = html_text(HOSTILE)
    assert html.unescape(written) == HOSTILE
    assert not re.search(r"[<>\"']", written)


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("Plum *Gaslight*", r"Plum \*Gaslight\*"),
        ("a_b [x](y)", r"a\_b \[x\](y)"),
        ("a | b", r"a \| b"),
        ("<b>", "&lt;b&gt;"),
        ("http://evil.example", "http&#58;//evil.example"),
        ("1. of May", r"1\. of May"),
        ("- item", r"\- item"),
        ("# head", r"\# head"),
        ("two\nlines", "two lines"),
        ("61 % (57–65)", "61 % (57–65)"),
        ("Grüne شتلة 🌼", "Grüne شتلة 🌼"),
    ],
)
def test_markdown_shows_what_was_typed(typed: str, written: str) -> None:
    assert markdown_text(typed) == written


@pytest.mark.parametrize(
    "typed", ["=1+1", "+1+1", "-2+3+cmd|' /C calc'!A0", "@SUM(A1)", "\t=1", "\r=1", "＝1+1", "+A1"]
)
def test_what_begins_like_a_formula_is_text_in_a_spreadsheet(typed: str) -> None:
    assert cell_text(typed) == f"'{typed}"


@pytest.mark.parametrize(
    "number",
    [
        "-0.3",
        "+61 to +74",
        "+1.2",
        "61 % (57–65)",
        "+5 points (+1 to +9)",
        "−3 points",
        "-12 days (-20 to -4)",
        "",
        "a=1",
    ],
)
def test_a_number_stays_as_it_is(number: str) -> None:
    assert cell_text(number) == number


@given(st.text())
def test_no_cell_begins_like_a_formula_unless_it_is_a_number(typed: str) -> None:
    cell = cell_text(one_line(typed))
    assert not cell.startswith(FORMULA_BEGINNINGS) or re.fullmatch(r"[+-]\d[\d.]*( [\w%]+)?( \(.*\))?", cell)
    assert not re.search(r"[\t\r\n]", cell)


@given(st.text())
def test_a_file_name_is_plain_whatever_was_typed(typed: str) -> None:
    assert re.fullmatch(r"([a-z0-9]+(-[a-z0-9]+)*)?", file_slug(typed))
    assert len(file_slug(typed)) <= 60


def test_file_names_keep_what_can_be_kept() -> None:
    assert file_slug("Grüner ‘Prinz’ / ../etc") == "gruner-prinz-etc"
    assert file_slug("شتلة 🌼") == ""
