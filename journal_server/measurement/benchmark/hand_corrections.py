"""Photos corrected by a simulated hand: are the numbers nearer the truth, and do the intervals still hold it?

The hand knows the true class of every pixel, sees areas that are wrong and wide enough to be worth a dab, and dabs
them with the brush that fits. It aims at pixels whose whole dab is wrong where there are any; nine of ten dabs land
within a quarter of the brush's width, half of that variance shared by all dabs of an area, as a finger is off one way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image
from scipy import ndimage

from journal_server.measurement.benchmark.scenes import Scene
from journal_server.measurement.hand_correction import Stroke
from journal_server.measurement.hand_doubt import PLACED_WITHIN
from journal_server.measurement.measure import measure_and_draw
from journal_server.measurement.shares import BLOOM, FOLIAGE, SPENT

Labels = npt.NDArray[np.intp]

QUANTITIES = ("canopy_fill", "bloom_cover", "spent_share")
BRUSHES_PX = (8.0, 18.0, 40.0)
"""On the map of some 640 x 480 pixels: what a phone's three brushes cover at twice the size."""
_NAMES = {BLOOM: "bloom", FOLIAGE: "foliage", SPENT: "spent"}
_NINE_OF_TEN = math.sqrt(2 * math.log(10))  # of a Rayleigh distribution with sigma 1
_WORTH_A_DAB_PX = 25


def hand_table(scenes: Sequence[Scene], seed: int = 20_261_125) -> list[str]:
    """Mean error in points, share of truths held and median width, for photos untouched, half and wholly corrected."""
    random = np.random.default_rng(seed)
    known = [scene for scene in scenes if _truth_file(scene).exists()]
    lines = [f"Corrected by a simulated hand, {len(known)} scenes: mean error (points), truths held, median width"]
    rows: dict[str, list[tuple[dict[str, Any], Any]]] = {"untouched": [], "half": [], "all": []}
    for scene in known:
        truth = scene.truth["frame"]
        plain = measure_and_draw(scene.photo, **scene.settings())
        rows["untouched"].append((truth, plain.measurement))
        dabs = list(_dabs(plain.classes, scene, random))
        for words, chosen in (("half", dabs[::2]), ("all", dabs)):
            strokes = [stroke for area in chosen for stroke in area]
            corrected = measure_and_draw(scene.photo, correction=strokes, **scene.settings())
            rows[words].append((truth, corrected.measurement))
    return lines + [
        f"  {words:<10}" + "; ".join(_cell(name, pairs) for name in QUANTITIES) for words, pairs in rows.items()
    ]


def _cell(name: str, pairs: Sequence[tuple[dict[str, Any], Any]]) -> str:
    known = [
        (truth[name], estimate) for truth, one in pairs if (estimate := getattr(one, name)) and truth[name] is not None
    ]
    error = 100 * np.mean([abs(estimate.value - true) for true, estimate in known])
    held = np.mean([estimate.low - 1e-4 <= true <= estimate.high + 1e-4 for true, estimate in known])
    width = 100 * np.median([estimate.high - estimate.low for _, estimate in known])
    return f"{name} {error:.1f}, {held:.0%} of {len(known)}, {width:.1f}"


def _dabs(classes: npt.NDArray[np.float32], scene: Scene, random: np.random.Generator) -> Iterator[list[Stroke]]:
    """The dabs of each wrong area, the largest areas first."""
    height, width = classes.shape[:2]
    true = np.asarray(Image.open(_truth_file(scene)).resize((width, height), Image.Resampling.NEAREST), np.intp)
    true, seen = _as_painted(true), _as_painted(classes.argmax(axis=2))
    scale = scene.truth["image"]["width"] / width
    areas: list[tuple[int, list[Stroke]]] = []
    for kind in np.unique(true):
        labels, count = ndimage.label((true == kind) & (seen != kind))
        for label in 1 + np.flatnonzero(np.bincount(labels.ravel(), minlength=count + 1)[1:] >= _WORTH_A_DAB_PX):
            area = labels == label
            areas.append((int(area.sum()), list(_dabs_of(area, _NAMES.get(int(kind), "other"), scale, random))))
    yield from (dabs for _, dabs in sorted(areas, key=lambda sized: -sized[0]) if dabs)


def _dabs_of(area: npt.NDArray[np.bool_], paint: str, scale: float, random: np.random.Generator) -> Iterator[Stroke]:
    depth = ndimage.distance_transform_edt(area)
    if depth.max() < BRUSHES_PX[0] / 4:
        return  # a sliver along an edge: nobody sees it
    brush = max([b for b in BRUSHES_PX if b / 2 <= depth.max()], default=BRUSHES_PX[0])
    left = area & (depth >= min(brush / 2, depth.max()))
    sigma = PLACED_WITHIN * brush / _NINE_OF_TEN / math.sqrt(2)
    shared = random.normal(0, sigma, 2)
    while left.any():
        rows, columns = np.nonzero(left)
        at = int(depth[rows, columns].argmax())
        x, y = columns[at] + 0.5, rows[at] + 0.5
        left &= (
            np.hypot(np.arange(left.shape[1])[None] + 0.5 - x, np.arange(left.shape[0])[:, None] + 0.5 - y) > brush / 3
        )
        landed = np.array([x, y]) + shared + random.normal(0, sigma, 2)
        yield Stroke(paint, brush * scale, ((float(landed[0]) * scale, float(landed[1]) * scale),))


def _as_painted(labels: Labels) -> Labels:
    """What a person can tell apart: everything that is not of the plant is one."""
    return np.where(labels <= SPENT, labels, 0)


def _truth_file(scene: Scene) -> Any:
    return scene.photo.with_name(f"{scene.name}.classes.png")
