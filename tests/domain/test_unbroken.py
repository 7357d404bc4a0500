"""What stays on one line is found, and nothing of the text is lost or altered."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.unbroken import runs, unbroken_words

KEPT = [
    ("It was 32 °C or more on 3 July 2026.", ["32 °C", "3 July"]),
    ("Bloom cover peaked at 61 % (57–65) in week 3.", ["61 %", "57–65", "week 3"]),
    ("Half full after 24 days (21–27), at −2.3 °C.", ["24 days", "21–27", "−2.3 °C"]),
    ("Faded by dE00 6.1 (1.0–9.8); rank 2–4, spill 12.5 cm.", ["dE00 6.1", "1.0–9.8", "rank 2–4", "12.5 cm"]),
    ("fed 13 times, about 18 MB, on 4 Jun", ["13 times", "18 MB", "4 Jun"]),
]
LEFT_ALONE = [
    "Trough 7 stands beside 4 plants.",
    "p2_2026-06-17.jpg",
    "5 Junipers and 3 daysailers",
    "1" * 40 + " %",
    "",
]


@pytest.mark.parametrize(("text", "kept"), KEPT)
def test_a_number_stays_with_its_unit_and_a_day_with_its_month(text: str, kept: list[str]) -> None:
    assert [part for part, is_kept in runs(text) if is_kept] == kept
    assert set(kept) <= {word.strip("().,;") for word in unbroken_words(text)}


@pytest.mark.parametrize("text", LEFT_ALONE)
def test_other_words_may_part(text: str) -> None:
    assert not any(is_kept for _, is_kept in runs(text))
    assert unbroken_words(text) == text.split()


@given(st.text(st.sampled_from("0123456789.,–−%°C ()weekJuly\u00a0\n")) | st.text())
def test_the_text_stays_as_it_is(text: str) -> None:
    assert "".join(part for part, _ in runs(text)) == text
    assert " ".join(unbroken_words(text)).split() == text.split()
