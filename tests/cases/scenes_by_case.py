"""Everyday cases made from the scenes: ``python tests/cases/scenes_by_case.py FOLDER`` writes them all.

Each case changes a scene whose classes are known; the change moves the class map along, so that the shares in the
frame stay known. Nothing is learned from these pictures.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from cases import around, flowers, grounds, leaves, lights
from cases.sources import Picture, load

from journal_server.measurement.colour import linear_to_srgb

Change = Callable[[Picture, np.random.Generator], None]


@dataclass(frozen=True)
class Case:
    """A change and the scenes it suits."""

    change: Change
    scenes: tuple[int, ...]


def unchanged(picture: Picture, rng: np.random.Generator) -> None:
    """The scene as it is: what the errors of the other cases are to be set against."""


CASES: dict[str, Case] = {
    "burgundy leaves": Case(leaves.burgundy, (2, 14, 30, 24, 28, 36)),
    "chartreuse leaves": Case(leaves.chartreuse, (7, 11, 16, 39, 37, 34)),
    "silver leaves": Case(leaves.silver, (2, 14, 20, 35, 28, 36)),
    "variegated leaves": Case(leaves.variegated, (7, 11, 20, 25, 40, 18)),
    "white flowers in sun": Case(flowers.white_in_sun, (11, 22, 26, 14, 30, 32)),
    "yellow over chartreuse": Case(flowers.yellow_over_chartreuse, (11, 10, 22, 28, 37, 36)),
    "bicolours": Case(flowers.bicolour, (9, 35, 37, 22, 25, 40)),
    "dark centres": Case(flowers.dark_centres, (32, 22, 11, 14, 31, 9)),
    "doubles": Case(flowers.doubles, (23, 35, 37, 26, 25, 40)),
    "tiny flowers": Case(flowers.tiny_flowers, (11, 22, 24, 16, 14, 32)),
    "buds": Case(flowers.buds, (2, 11, 14, 34, 18, 25)),
    "daisy centres": Case(flowers.daisies, (9, 32, 37, 24, 25, 12)),
    "red brick": Case(grounds.behind(grounds.red_brick), (26, 39, 28, 11, 31, 19)),
    "terracotta": Case(grounds.behind(grounds.terracotta), (28, 26, 31, 3, 22, 10)),
    "lawn": Case(grounds.behind(grounds.lawn), (14, 22, 25, 28, 35, 8)),
    "hedge": Case(grounds.behind(grounds.hedge), (14, 32, 35, 39, 28, 10)),
    "blue sky": Case(grounds.behind(grounds.blue_sky, 0.1), (11, 29, 35, 5, 22, 28)),
    "painted fence": Case(grounds.behind(grounds.painted_fence), (9, 11, 14, 22, 28, 31)),
    "mulch": Case(grounds.behind(grounds.mulch), (20, 24, 36, 31, 15, 6)),
    "hand": Case(around.hand, (1, 4, 11, 15, 22, 28)),
    "other planters": Case(around.other_planters, (1, 3, 4, 15, 16, 21)),
    "large card": Case(around.large_card, (2, 14, 22, 25, 35, 39)),
    "wet leaves": Case(leaves.wet, (2, 11, 20, 37, 40, 13)),
    "backlight": Case(lights.backlight, (9, 11, 14, 22, 28, 31)),
    "dusk": Case(lights.dusk, (7, 10, 20, 26, 35, 1)),
    "half shadow": Case(lights.half_shadow, (2, 16, 25, 24, 39, 37)),
}
CASES["unchanged"] = Case(unchanged, tuple(sorted({number for case in CASES.values() for number in case.scenes})))


def make(case: str, index: int) -> tuple[Image.Image, dict[str, Any]]:
    """The ``index``-th picture of a case and what is true of it, the same every time."""
    asked = CASES[case]
    rng = np.random.default_rng([zlib.crc32(case.encode()), index])
    picture = load(asked.scenes[index % len(asked.scenes)])
    asked.change(picture, rng)
    return _photographed(picture, rng), _truth(picture, case)


def _photographed(picture: Picture, rng: np.random.Generator) -> Image.Image:
    srgb = linear_to_srgb(picture.light) * 255 + rng.normal(0, 1.2, picture.light.shape)
    return Image.fromarray(np.clip(np.rint(srgb), 0, 255).astype(np.uint8))


def _truth(picture: Picture, case: str) -> dict[str, Any]:
    shares = picture.frame_shares()
    plant = sum(shares.values())
    return {
        "case": case,
        "made_from": picture.name,
        "planter": picture.truth["planter"],
        "n_plants": picture.truth["n_plants"],
        "frame_polygon": picture.frame.round(2).tolist(),
        "frame": {
            "canopy_fill": plant,
            "bloom_cover": shares["bloom"] / plant,
            "flower_to_leaf": shares["bloom"] / max(shares["foliage"], 1e-6),
            "spent_share": shares["spent"] / plant,
        },
        "declared": {"bloom_colours": picture.bloom_colours, "foliage_colours": picture.foliage_colours},
    }


def write(folder: Path, each: int) -> Iterator[Path]:
    """``each`` pictures a case, and all scenes unchanged, as NAME.jpg with NAME.truth.json."""
    folder.mkdir(parents=True, exist_ok=True)
    for case, asked in CASES.items():
        for index in range(len(asked.scenes) if case == "unchanged" else each):
            photo, truth = make(case, index)
            path = folder / f"{case.replace(' ', '_')}_{index}.jpg"
            photo.save(path, quality=90)
            path.with_suffix(".truth.json").write_text(json.dumps(truth, indent=1), "utf-8")
            yield path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--each", type=int, default=6, help="pictures a case")
    asked = parser.parse_args()
    for path in write(asked.folder, asked.each):
        print(path)


if __name__ == "__main__":
    main()
