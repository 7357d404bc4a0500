"""A report as Markdown (CommonMark with tables), its pictures as files in a folder beside it."""

from __future__ import annotations

from collections.abc import Iterator

from journal_server.domain.markup import file_slug, markdown_text
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
    Words,
)
from journal_server.services.reports.drawn import for_a_file

FOLDER = "pictures"


def as_markdown(document: Document) -> dict[str, bytes]:
    """Files by their path: the report, named as the document, and what it shows in `FOLDER`."""
    files: dict[str, bytes] = {}
    names = _Names(files)
    parts = [f"# {markdown_text(document.title)}", markdown_text(document.subtitle)]
    parts += _blocks(document.blocks, names)
    parts += ["---", markdown_text(document.made)]
    text = "\n\n".join(part for part in parts if part) + "\n"
    return {f"{document.name}.md": text.encode("utf-8")} | files


class _Names:
    """Puts pictures into the folder, each under a name of its own."""

    def __init__(self, files: dict[str, bytes]):
        self._files = files

    def keep(self, name: str, suffix: str, content: bytes) -> str:
        path, count = f"{FOLDER}/{name}{suffix}", 1
        while path in self._files and self._files[path] != content:
            count += 1
            path = f"{FOLDER}/{name}-{count}{suffix}"
        self._files[path] = content
        return path


def _blocks(blocks: tuple[Block, ...], names: _Names) -> list[str]:
    return [_block(block, names) for block in blocks]


def _block(block: Block, names: _Names) -> str:
    match block:
        case Beside():
            return "\n\n".join(part for part in _blocks(block.left + block.right, names) if part)
        case Heading():
            return f"{'#' * block.level} {markdown_text(block.text)}"
        case Paragraph():
            return "".join(map(_words, block.words)).strip()
        case Notice():
            return "\n>\n".join(f"> {markdown_text(one)}" for one in block.sentences)
        case Listing():
            return "\n".join(f"- {markdown_text(one)}" for one in block.items)
        case KeyNumbers():
            return "\n".join(map(_key_number, block.numbers))
        case Table():
            return "\n".join(_table(block))
        case Figures():
            return "\n\n".join(_figure(one, names) for one in block.figures)
        case Photos():
            return "\n\n".join(_photo(one, names) for one in block.photos)


def _words(one: Words) -> str:
    """A run of words in a line: the space around it is kept, and stays outside of the stars."""
    text = one.text if isinstance(one, Strong) else one
    before, after = " " * text[:1].isspace(), " " * text[-1:].isspace()
    said = markdown_text(text)
    stars = "**" if isinstance(one, Strong) and said else ""
    return f"{before}{stars}{said}{stars}{after}" if said else before


def _key_number(one: KeyNumber) -> str:
    return f"- {markdown_text(one.words)}: **{markdown_text(one.value or 'not known')}**, {markdown_text(one.beside)}"


def _table(table: Table) -> Iterator[str]:
    yield f"**{markdown_text(table.title)}**"
    yield ""
    yield _row(table.headers)
    yield f"|{'---|' * len(table.headers)}"
    yield from map(_row, table.rows)


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(markdown_text(cell) for cell in cells)} |"


def _figure(figure: Figure, names: _Names) -> str:
    name = file_slug(figure.title) or "figure"
    path = names.keep(name, ".svg", for_a_file(figure.wide).encode("utf-8", "replace"))
    title = f"**{markdown_text(figure.title)}**\n\n" if figure.title else ""
    return f"{title}![{markdown_text(figure.alt)}]({path})"


def _photo(photo: Photo, names: _Names) -> str:
    path = names.keep(photo.name, ".jpg", photo.jpeg)
    return f"![{markdown_text(photo.alt)}]({path})\n\n*{markdown_text(photo.caption)}*"
