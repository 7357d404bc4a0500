"""Scenes with exact truth: NAME.truth.json with NAME.jpg beside it or among the sample photos."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from journal_server.packaged import packaged_folder


@dataclass(frozen=True)
class Scene:
    """One made photo and what is true of it."""

    photo: Path
    truth: dict[str, Any]

    @property
    def name(self) -> str:
        return self.photo.stem

    def settings(self, *, told: bool = True, framed: bool = True) -> dict[str, Any]:
        """Arguments for ``measure_photo``: with or without declared colours, with or without the frame."""
        declared = self.truth["declared"]
        return {
            "frame": self.truth["frame_polygon"] if framed else None,
            "bloom_colours": declared["bloom_colours"] if told else (),
            "foliage_colours": declared["foliage_colours"] if told else (),
            "plants": self.truth["n_plants"],
        }


def scenes_in(folder: Path) -> Iterator[Scene]:
    """The scenes of a folder in the order of their names."""
    for path in sorted(folder.glob("*.truth.json")):
        name = path.name.replace(".truth.json", ".jpg")
        photo = next((f / name for f in (folder, packaged_folder("sample_photos")) if (f / name).exists()), None)
        if photo:
            yield Scene(photo, json.loads(path.read_text("utf-8")))
