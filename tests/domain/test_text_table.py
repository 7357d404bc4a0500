"""Any list or CSV as cells: separators, quotes, line ends, and what is no table."""

from __future__ import annotations

import pytest

from journal_server.domain.text_table import read_cells
from journal_server.errors import InputRefused


@pytest.mark.parametrize("separator", list("\t;,|"))
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends_are_recognised(separator: str, line_end: str) -> None:
    text = line_end.join(separator.join(cells) for cells in (("a", "b", "c"), ("1", "x y", "3"))) + line_end
    assert read_cells(text) == [(1, ("a", "b", "c")), (2, ("1", "x y", "3"))]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("\ufeffa;b\n1;2\n", [(1, ("a", "b")), (2, ("1", "2"))]),
        ("sep=|\na|b,c;d\n", [(2, ("a", "b,c;d"))]),
        ('a,"b, ""c"""\n', [(1, ("a", 'b, "c"'))]),
        ('a;b\n"two\nlines";2\nend;3\n', [(1, ("a", "b")), (2, ("two lines", "2")), (4, ("end", "3"))]),
        ("a;b\n\n ; \n1;2\n", [(1, ("a", "b")), (4, ("1", "2"))]),
        ("a;4,5\nb;6,5\n", [(1, ("a", "4,5")), (2, ("b", "6,5"))]),
        ('Pot 12" ;4\nPot;"5\n', [(1, ('Pot 12"', "4")), (2, ("Pot", "5"))]),
        ('"never closed;4\nb;5\n', [(1, ("never closed;4",)), (2, ("b", "5"))]),
        ("only one column\nsecond\n", [(1, ("only one column",)), (2, ("second",))]),
    ],
)
def test_what_files_hold_is_read_as_it_is_meant(text: str, rows: list[tuple[int, tuple[str, ...]]]) -> None:
    assert read_cells(text) == rows


def test_comments_are_passed_over_where_they_are_known() -> None:
    assert read_cells("# made by hand\na,b\n", comments="#") == [(2, ("a", "b"))]
    assert read_cells("#,name\n1,x\n")[0] == (1, ("#", "name"))


@pytest.mark.parametrize("text", ["", "\n \n", "\ufeff\r\n"])
def test_an_empty_text_is_refused(text: str) -> None:
    with pytest.raises(InputRefused, match="empty"):
        read_cells(text)


def test_a_cell_without_end_is_refused_in_words() -> None:
    with pytest.raises(InputRefused, match="cannot be read as a table"):
        read_cells('"' + "x" * 200_000 + '"')
