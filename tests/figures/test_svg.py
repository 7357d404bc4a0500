"""SVG is built safely whatever the words and numbers are."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.figures.svg import colour, document, number, shorten, tag, text_width, wrap


@given(st.text(), st.text())
def test_any_words_parse(content: str, attribute: str) -> None:
    root = ET.fromstring(tag("g", content, data_note=attribute))
    assert list(root) == []
    assert list(root.attrib) == ["data-note"]


@given(st.text(st.characters(exclude_categories=("C",))))
def test_words_come_back_as_they_were(words: str) -> None:
    root = ET.fromstring(tag("g", words, data_note=words))
    assert (root.text or "") == words
    assert root.get("data-note") == words


def test_markup_in_a_name_is_shown_and_not_run() -> None:
    hostile = '"><script>alert(1)</script><x y="'
    drawn = document(hostile, 10, 10, hostile, hostile, hostile)
    assert "<script" not in drawn
    root = ET.fromstring(drawn)
    assert root.get("id") == hostile
    assert root.find("{http://www.w3.org/2000/svg}title").text == hostile  # type: ignore[union-attr]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_number_that_is_none_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="a figure cannot hold"):
        number(value)


def test_numbers_are_short() -> None:
    assert [number(v) for v in (0, -0.001, 1.5, 2.345678, 1e6, 1e-9)] == ["0", "0", "1.5", "2.35", "1000000", "0"]


def test_only_colour_codes_are_colours() -> None:
    assert colour("#A1b2C3") == "#a1b2c3"
    assert [colour(c) for c in (None, "", "red", "#fff", "#12345g", "#123456;}", "url(x)")] == [None] * 7


@given(st.text(max_size=60), st.floats(0, 400))
def test_shortened_words_fit(words: str, room: float) -> None:
    assert text_width(shorten(words, 11, room), 11) <= max(room, 0)


def test_wrapping_keeps_every_word() -> None:
    words = "Half of its full size after 26 days (24–28)."
    lines = wrap(words, 11, 120)
    assert " ".join(lines) == words
    assert len(lines) > 1


@given(st.text(st.sampled_from("ab 12%🌸.–")), st.integers(30, 400))
def test_lines_hold_all_words_and_fit(words: str, room: int) -> None:
    lines = wrap(words, 11, room)
    assert "".join("".join(lines).split()) == "".join(words.split())
    assert all(text_width(line, 11) <= room for line in lines)


def test_a_number_stays_with_its_unit_in_a_figure() -> None:
    for room in range(60, 200, 5):
        for one in wrap("Season bloom 23 % (19–28) on 3 July, in week 5.", 11, room):
            assert not one.endswith((" 23", " 3", "week"))
