"""One call from a typst source, data and pictures to a PDF or a picture of its page."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import typst

from journal_server.printing.fonts import loaded_fonts
from journal_server.printing.glyphs import drawable

MAIN = "main.typ"
PdfStandard = Literal["ua-1"]
"""PDF/UA-1 (ISO 14289-1): readable by screen readers."""


def typeset(
    source: str,
    data: Mapping[str, Any],
    files: Mapping[str, bytes],
    *,
    ppi: float | None = None,
    standard: PdfStandard | None = None,
) -> bytes:
    """A tagged PDF of the source, or with ``ppi`` a PNG of its only page.

    ``standard`` makes the PDF say that it keeps to it; what can be checked without a person is checked.

    The data reaches the source as ``json(bytes(sys.inputs.data))`` and so is text, never markup; ``files`` can be
    named in it as "/NAME"; it can read no other file. The same input gives the same bytes on one computer.
    What no font of this computer can draw, in data and in SVG files, is spelled by its name.

    Raises
    ------
    typst.TypstError : the source or a file cannot be set, or not so that the standard is kept
    ValueError : a PNG is asked for and there are several pages
    """
    with tempfile.TemporaryDirectory(prefix="journal-print-") as folder:
        for name, content in {**files, MAIN: source.encode("utf-8")}.items():
            (Path(folder) / name).write_bytes(_drawable_file(name, content))
        made = typst.compile(
            str(Path(folder) / MAIN),
            root=folder,
            font_paths=loaded_fonts().for_typst,
            sys_inputs={"data": json.dumps(_drawable_data(data), ensure_ascii=False)},
            format="pdf" if ppi is None else "png",
            ppi=ppi,
            pdf_standards=standard or [],
            timestamp=0,
        )
    if isinstance(made, list):
        raise ValueError(f"a picture is of one page, and there are {len(made)}")
    return made


def _drawable_data(value: Any) -> Any:
    if isinstance(value, str):
        return drawable(value)
    if isinstance(value, Mapping):
        return {key: _drawable_data(inner) for key, inner in value.items()}
    return [_drawable_data(inner) for inner in value] if isinstance(value, list | tuple) else value


def _drawable_file(name: str, content: bytes) -> bytes:
    return drawable(content.decode("utf-8")).encode("utf-8") if name.endswith(".svg") else content
