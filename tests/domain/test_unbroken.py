"""What stays on one line is found, and nothing of the text is lost or altered."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.unbroken import runs, unbroken_words

CASES = json.loads(Path(__file__).with_name("unbroken_cases.json").read_text(encoding="utf-8"))
"""The web app is held to them too."""


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["text"][:30])
def test_a_number_stays_with_its_unit_and_a_day_with_its_month(case: dict[str, Any]) -> None:
    text, kept = case["text"], case["kept"]
    assert [part for part, is_kept in runs(text) if is_kept] == kept
    words = unbroken_words(text)
    assert set(kept) <= {word.strip("().,;") for word in words}
    assert len(words) == len(text.split()) - sum(one.count(" ") for one in kept)


@given(st.text(st.sampled_from("0123456789.,–−%°C ()weekJuly\u00a0\n")) | st.text())
def test_the_text_stays_as_it_is(text: str) -> None:
    assert "".join(part for part, _ in runs(text)) == text
    assert " ".join(unbroken_words(text)).split() == text.split()
