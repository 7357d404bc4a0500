"""A report as PDF: the neutral parts go to the template as data, so that no name is ever markup."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import Any

import typst

from journal_server.errors import InputRefused
from journal_server.printing.typeset import typeset
from journal_server.services.reports.document import (
    Beside,
    Block,
    Document,
    Figure,
    Figures,
    Heading,
    KeyNumbers,
    Listing,
    Notice,
    Paragraph,
    Photo,
    Photos,
    Strong,
    Table,
)
from journal_server.services.reports.drawn import for_paper, size_px

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""The journal's words for paper, and typst's."""

_LONG_WORD = re.compile(r"\S{24,}")
_BREAK = "\u200b"


def as_pdf(document: Document, paper: str) -> bytes:
    """A tagged PDF (PDF/UA-1) with title and page numbers."""
    if paper not in PAPERS:
        raise InputRefused(f"The paper must be one of: {', '.join(PAPERS)}.", "paper")
    pictures: dict[str, bytes] = {}
    data = {
        "paper": PAPERS[paper],
        "title": document.title,
        "subtitle": document.subtitle,
        "made": document.made,
        "close": document.close,
        "blocks": _blocks(document.blocks, pictures),
    }
    source = files(__package__).joinpath("report.typ").read_text(encoding="utf-8")
    try:
        return typeset(source, _breakable(data), pictures, standard="ua-1")
    except typst.TypstError:
        # A sign that no rule foresaw must not cost the report: then it is tagged all the same, without that claim.
        return typeset(source, _breakable(data), pictures)


def _breakable(value: Any) -> Any:
    """Very long words may break, so that none runs over the edge of the page."""
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda found: _BREAK.join(re.findall(".{1,12}", found[0])), value)
    if isinstance(value, dict):
        return {key: inner if key == "file" else _breakable(inner) for key, inner in value.items()}
    return [_breakable(inner) for inner in value] if isinstance(value, list) else value


def _blocks(blocks: tuple[Block, ...], pictures: dict[str, bytes]) -> list[dict[str, Any]]:
    return [_block(block, pictures) for block in blocks]


def _block(block: Block, pictures: dict[str, bytes]) -> dict[str, Any]:
    match block:
        case Beside():
            columns = {"left": _blocks(block.left, pictures), "right": _blocks(block.right, pictures)}
            return {"is": "beside", "widths": list(block.widths)} | columns
        case Heading():
            return {"is": "heading", "text": block.text, "level": block.level, "new_page": block.new_page}
        case Paragraph():
            words = [
                {"text": w.text if isinstance(w, Strong) else w, "strong": isinstance(w, Strong)} for w in block.words
            ]
            return {"is": "paragraph", "words": words, "tone": block.tone}
        case Notice():
            return {"is": "notice", "sentences": list(block.sentences)}
        case Listing():
            return {"is": "listing", "items": list(block.items)}
        case KeyNumbers():
            numbers = [{"words": n.words, "value": n.value, "beside": n.beside} for n in block.numbers]
            return {"is": "key numbers", "numbers": numbers, "stacked": block.stacked}
        case Table():
            widths = list(block.widths or (1.0,) * len(block.headers))
            rows = [list(row) for row in block.rows]
            return {"is": "table", "title": block.title, "headers": list(block.headers), "rows": rows, "widths": widths}
        case Figures():
            return {"is": "figures", "figures": [_figure(one, pictures) for one in block.figures]}
        case Photos():
            photos = [_photo(one, pictures) for one in block.photos]
            return {"is": "photos", "columns": block.columns, "photos": photos}


def _figure(figure: Figure, pictures: dict[str, bytes]) -> dict[str, Any]:
    width, height = size_px(figure.wide)
    file = _keep(pictures, "svg", for_paper(figure.wide).encode("utf-8", "replace"))
    return {"file": file, "title": figure.title, "alt": figure.alt, "width_pt": width * 0.75, "height": height / width}


def _photo(photo: Photo, pictures: dict[str, bytes]) -> dict[str, Any]:
    file = _keep(pictures, "jpg", photo.jpeg)
    return {"file": file, "caption": photo.caption, "alt": photo.alt, "height": photo.height / photo.width}


def _keep(pictures: dict[str, bytes], suffix: str, content: bytes) -> str:
    name = f"{len(pictures)}.{suffix}"
    pictures[name] = content
    return f"/{name}"
