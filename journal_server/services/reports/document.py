"""A report as neutral parts: what is said and shown, in order. How it looks is the renderers' business."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Strong:
    """Words that stand out: a name, a number."""

    text: str


Words = str | Strong


@dataclass(frozen=True)
class Heading:
    text: str
    level: int = 2
    new_page: bool = False


@dataclass(frozen=True)
class Paragraph:
    """``tone`` is plain, lead (large, said first) or quiet (small, said beside)."""

    words: tuple[Words, ...]
    tone: str = "plain"

    @property
    def text(self) -> str:
        return "".join(one.text if isinstance(one, Strong) else one for one in self.words)


@dataclass(frozen=True)
class Notice:
    """What a reader must know before trusting what follows."""

    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Listing:
    items: tuple[str, ...]


@dataclass(frozen=True)
class KeyNumber:
    """One number large enough to be seen first; without a value its reason stands in its place."""

    words: str
    value: str | None
    beside: str


@dataclass(frozen=True)
class KeyNumbers:
    """``stacked``: one under the other, where they stand beside something."""

    numbers: tuple[KeyNumber, ...]
    stacked: bool = False


@dataclass(frozen=True)
class Table:
    """``widths`` are relative widths of the columns; a first column of names is the rule."""

    title: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...] = ()


@dataclass(frozen=True)
class Figure:
    """One drawn figure: SVG text for a page, and for a phone (``narrow``)."""

    title: str
    alt: str
    wide: str
    narrow: str


@dataclass(frozen=True)
class Figures:
    """Figures side by side where there is room."""

    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Photo:
    """A picture as JPEG without any metadata; ``name`` is safe as a file's name, without suffix."""

    name: str
    jpeg: bytes = field(repr=False)
    width: int
    height: int
    caption: str
    alt: str


@dataclass(frozen=True)
class Photos:
    """Pictures in a row, as many beside each other as ``columns``."""

    photos: tuple[Photo, ...]
    columns: int = 3


@dataclass(frozen=True)
class Beside:
    """Two columns where there is room, else the right one under the left. ``widths`` are relative."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    widths: tuple[float, float] = (1.0, 1.0)


Block = Heading | Paragraph | Notice | Listing | KeyNumbers | Table | Figures | Photos | Beside


@dataclass(frozen=True)
class Document:
    """A whole report. ``name`` is safe as a file's name, without suffix; ``made`` says of what and when it was made.

    ``close``: set small and close on paper, as it is to be one page.
    """

    name: str
    title: str
    subtitle: str
    made: str
    blocks: tuple[Block, ...]
    close: bool = False

    def figures(self) -> Iterator[Figure]:
        for block in _each(self.blocks):
            if isinstance(block, Figures):
                yield from block.figures

    def photos(self) -> Iterator[Photo]:
        for block in _each(self.blocks):
            if isinstance(block, Photos):
                yield from block.photos


def _each(blocks: tuple[Block, ...]) -> Iterator[Block]:
    for block in blocks:
        if isinstance(block, Beside):
            yield from _each(block.left + block.right)
        else:
            yield block
