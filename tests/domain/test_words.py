from __future__ import annotations

from datetime import date

from journal_server.domain.dates import span_words
from journal_server.domain.words import counted, listed


def test_lists_and_counts() -> None:
    lists = [listed(["A"]), listed(["A", "B"]), listed(["A", "B", "C"]), listed([])]
    assert lists == ["A", "A and B", "A, B and C", ""]
    assert [counted(1, "photo"), counted(2, "photo")] == ["1 photo", "2 photos"]
    assert [counted(1, "photo was", "photos were"), counted(0, "photo was", "photos were")] == [
        "1 photo was",
        "0 photos were",
    ]


def test_a_span_says_the_year_once_where_it_is_one_year() -> None:
    assert span_words(date(2026, 5, 22), date(2026, 8, 22)) == "22 May to 22 August 2026"
    assert span_words(date(2025, 11, 2), date(2026, 1, 3)) == "2 November 2025 to 3 January 2026"
    assert span_words(date(2026, 5, 22), date(2026, 5, 22)) == "22 May 2026"
