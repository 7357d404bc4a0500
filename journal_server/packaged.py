"""Where the files that travel with the package are: in it when installed, beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def packaged_folder(name: str) -> Path:
    """The folder ``web`` or ``sample_photos``."""
    for parent in (_PACKAGE, _PACKAGE.parent):
        if (parent / name).is_dir():
            return parent / name
    raise FileNotFoundError(f"the folder {name} is missing from this installation")
