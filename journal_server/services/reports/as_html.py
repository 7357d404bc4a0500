"""A report as one HTML file that needs nothing else: inline figures, pictures as data addresses, no script."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from importlib.resources import files

from journal_server.domain.markup import html_text
from journal_server.domain.unbroken import runs
from journal_server.services.reports.document import (
    Beside,
    Block,
    Document,
    Figure,
    Figures,
    Heading,
    KeyNumber,
    KeyNumbers,
    Listing,
    Notice,
    Paragraph,
    Photo,
    Photos,
    Strong,
    Table,
)
from journal_server.services.reports.drawn import with_ids_of_its_own

POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
"""What the file itself asks of a browser: no script, nothing from anywhere."""

SERVED_POLICY = f"{POLICY}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox"
"""The same where it is served for viewing, and in an origin of its own, so that it is never a page of the journal."""


def as_html(document: Document) -> bytes:
    """UTF-8; every text is escaped."""
    style = files(__package__).joinpath("report.css").read_text(encoding="utf-8")
    title = html_text(f"{document.title}, {document.subtitle}" if document.subtitle else document.title)
    subtitle = f'<p class="subtitle" dir="auto">{flowing(document.subtitle)}</p>' if document.subtitle else ""
    body = _blocks(document.blocks)
    close = ' class="close"' if document.close else ""
    page = f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{title}</title>
<style>
{style}</style>
</head>
<body{close}>
<main>
<header><h1 dir="auto">{flowing(document.title)}</h1>{subtitle}</header>
{body}
</main>
<footer><p>{html_text(document.made)}</p></footer>
</body>
</html>
"""
    return page.encode("utf-8")


def flowing(words: str) -> str:
    """Words that run over lines, where a number and its unit stay on one: by layout, so that the text is as said."""
    return "".join(
        f'<span class="run">{html_text(part)}</span>' if kept else html_text(part) for part, kept in runs(words)
    )


def _blocks(blocks: Iterable[Block], at: str = "") -> str:
    return "\n".join(_block(block, f"{at}{i}") for i, block in enumerate(blocks))


def _block(block: Block, at: str) -> str:
    match block:
        case Beside():
            columns = "".join(
                f'<div style="flex: {width:g} 1 0">{_blocks(column, f"{at}-{side}-")}</div>'
                for side, width, column in zip("lr", block.widths, (block.left, block.right), strict=True)
            )
            return f'<div class="beside">{columns}</div>'
        case Heading():
            new_page = ' class="new-page"' if block.new_page else ""
            return f'<h{block.level}{new_page} dir="auto">{flowing(block.text)}</h{block.level}>'
        case Paragraph():
            tone = "" if block.tone == "plain" else f' class="{block.tone}"'
            return f'<p{tone} dir="auto">{"".join(map(_words, block.words))}</p>'
        case Notice():
            sentences = "".join(f'<p dir="auto">{flowing(one)}</p>' for one in block.sentences)
            return f'<aside class="notice" aria-label="To know first">{sentences}</aside>'
        case Listing():
            items = "".join(f'<li dir="auto">{flowing(one)}</li>' for one in block.items)
            return f"<ul>{items}</ul>"
        case KeyNumbers():
            stacked = " stacked" if block.stacked else ""
            return f'<dl class="key-numbers{stacked}">{"".join(map(_key_number, block.numbers))}</dl>'
        case Table():
            return _table(block)
        case Figures():
            drawn = "".join(_figure(one, f"f{at}-{i}") for i, one in enumerate(block.figures))
            return f'<div class="figures of-{len(block.figures)}">{drawn}</div>'
        case Photos():
            return f'<div class="photos of-{block.columns}">{"".join(map(_photo, block.photos))}</div>'


def _words(one: str | Strong) -> str:
    return f"<strong><bdi>{flowing(one.text)}</bdi></strong>" if isinstance(one, Strong) else flowing(one)


def _key_number(one: KeyNumber) -> str:
    value = f'<dd class="value">{flowing(one.value)}</dd>' if one.value else '<dd class="unknown">not known</dd>'
    return f'<div><dt>{html_text(one.words)}</dt>{value}<dd class="under">{flowing(one.beside)}</dd></div>'


def _table(table: Table) -> str:
    widths = table.widths or (1.0,) * len(table.headers)
    columns = "".join(f'<col style="width: {100 * width / sum(widths):.1f}%">' for width in widths)
    headers = "".join(f'<th scope="col">{html_text(one)}</th>' for one in table.headers)
    rows = "".join(f"<tr>{''.join(_cell(cell, i) for i, cell in enumerate(row))}</tr>" for row in table.rows)
    return (
        f'<div class="wide" role="region" aria-label="{html_text(table.title)}" tabindex="0"><table>'
        f"<caption>{html_text(table.title)}</caption><colgroup>{columns}</colgroup><thead><tr>{headers}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _cell(words: str, column: int) -> str:
    if column == 0:
        return f'<th scope="row" dir="auto">{flowing(words)}</th>'
    return f'<td dir="auto">{flowing(words)}</td>'


def _figure(figure: Figure, name: str) -> str:
    title = f"<figcaption>{html_text(figure.title)}</figcaption>" if figure.title else ""
    if figure.wide == figure.narrow:
        return f"<figure>{title}{with_ids_of_its_own(figure.wide, name)}</figure>"
    drawn = [
        f'<div class="{which}">{with_ids_of_its_own(svg, f"{name}-{which}")}</div>'
        for which, svg in (("on-wide", figure.wide), ("on-narrow", figure.narrow))
    ]
    return f"<figure>{title}{''.join(drawn)}</figure>"


def _photo(photo: Photo) -> str:
    data = base64.b64encode(photo.jpeg).decode("ascii")
    return (
        f'<figure><img src="data:image/jpeg;base64,{data}" alt="{html_text(photo.alt)}" '
        f'width="{photo.width}" height="{photo.height}">'
        f'<figcaption dir="auto">{flowing(photo.caption)}</figcaption></figure>'
    )
