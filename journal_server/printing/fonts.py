"""The typefaces of print: those that travel with the program, then those of this computer."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pymupdf_fonts
import typst

_TRAVELLING = ("figo", "figbo", "figit", "figbi", "notos", "notosbo", "symbol1", "symbol2", "math")
"""FiraGO has Latin, Greek, Cyrillic, Hebrew, Arabic, Thai and more; Noto Sans and its symbols what it lacks."""


@dataclass(frozen=True)
class LoadedFonts:
    """What typst searches, and the files of it: (path, index in the file), the program's own first."""

    for_typst: typst.Fonts
    own_files: tuple[tuple[str, int], ...]
    system_files: tuple[tuple[str, int], ...]


@cache
def loaded_fonts() -> LoadedFonts:
    """The fonts, unpacked once a process into a folder that goes with it."""
    folder = Path(tempfile.mkdtemp(prefix="journal-fonts-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for name in _TRAVELLING:
        (folder / f"{name}.ttf").write_bytes(pymupdf_fonts.fontbuffers[name]())
    found = typst.Fonts(font_paths=[str(folder)])
    files = [(font.path, font.index) for font in found.fonts() if font.path]
    own = tuple(one for one in files if Path(one[0]).parent == folder)
    return LoadedFonts(found, own, tuple(one for one in files if one not in own))
