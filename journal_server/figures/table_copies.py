"""A table as it is copied into other programs: tab-separated text, Markdown, HTML. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.domain.markup import cell_text, html_text, markdown_text, one_line

Row = Sequence[str]


def table_copies(title: str, headers: Row, rows: Sequence[Row], source: str = "") -> dict[str, str]:
    """The table with its title above and where it comes from below, in each of the three formats.

    In tab-separated text and HTML, which are pasted into spreadsheets, no cell is taken for a formula.
    """
    return {
        "text": _tab_separated(title, headers, rows, source),
        "markdown": _markdown(title, headers, rows, source),
        "html": _html(title, headers, rows, source),
    }


def _tab_separated(title: str, headers: Row, rows: Sequence[Row], source: str) -> str:
    lines = [[title], headers, *rows, *([[source]] if source else [])]
    return "\n".join("\t".join(cell_text(one_line(cell)) for cell in line) for line in lines) + "\n"


def _markdown(title: str, headers: Row, rows: Sequence[Row], source: str) -> str:
    lines = [f"**{markdown_text(title)}**", "", _markdown_row(headers), f"|{' --- |' * len(headers)}"]
    lines += [_markdown_row(row) for row in rows]
    return "\n".join([*lines, *(["", markdown_text(source)] if source else [])]) + "\n"


def _markdown_row(row: Row) -> str:
    return f"| {' | '.join(markdown_text(cell) for cell in row)} |"


def _html(title: str, headers: Row, rows: Sequence[Row], source: str) -> str:
    head = "".join(f'<th scope="col">{_cell(cell)}</th>' for cell in headers)
    body = "\n".join(
        f'<tr><th scope="row">{_cell(first)}</th>{"".join(f"<td>{_cell(cell)}</td>" for cell in rest)}</tr>'
        for first, *rest in rows
    )
    foot = f'<tfoot><tr><td colspan="{len(headers)}">{html_text(one_line(source))}</td></tr></tfoot>' if source else ""
    return (
        f"<table>\n<caption>{html_text(one_line(title))}</caption>\n<thead><tr>{head}</tr></thead>\n"
        f"<tbody>\n{body}\n</tbody>{foot}\n</table>"
    )


def _cell(text: str) -> str:
    return html_text(cell_text(one_line(text)))
