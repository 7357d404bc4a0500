"""What the screen about how sure the method is would say, were the made scenes counted by someone who is never wrong.

python tests/counted_scenes.py [--points 100] [--every 1]

The answers come from the exact class masks, so the bias and the spread that the counts tell can be held against those
of the method against the exact truth. Measuring all forty scenes takes about a minute.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean, stdev

import numpy as np
from PIL import Image, ImageDraw

from journal_server.analysis.agreement import ComparedShare, ShareAgreement, share_agreement
from journal_server.analysis.kappa import Kappa, kappa_over_photos
from journal_server.analysis.point_count import (
    CLASSES,
    COUNTED_SHARES,
    confusion,
    counted_share,
    counting_variance,
    tally_of,
)
from journal_server.figures.agreement_words import kappa_sentence, share_sentences
from journal_server.measurement import segmentation
from journal_server.measurement.benchmark.scenes import Scene, scenes_in
from journal_server.measurement.class_map import classes_at
from journal_server.measurement.measure import measure_and_draw

SCENES = Path(__file__).parent / "scenes"
TRUE_LETTERS = {0: "o", 1: "f", 2: "b", 3: "s", 4: "o", 5: "o"}
"""What the numbers of a mask are in a count; see scenes/README.md."""


@dataclass(frozen=True)
class CountedScene:
    """A scene counted without error: each share compared, the points by class, and how far the method is truly off."""

    name: str
    compared: dict[str, ComparedShare]
    table: tuple[tuple[int, ...], ...]
    true_errors: dict[str, float]


def count_scene(scene: Scene, points: int, seed: int) -> CountedScene:
    """Lays points at random in the frame and answers each from the mask."""
    mask = np.asarray(Image.open(SCENES / f"{scene.name}.classes.png"))
    drawn = measure_and_draw(scene.photo, **scene.settings())
    laid = _points_in(scene.truth["frame_polygon"], (mask.shape[1], mask.shape[0]), points, seed)
    said = "".join(TRUE_LETTERS[int(mask[int(y), int(x)])] for x, y in laid)
    likeliest = np.argmax(drawn.classes, axis=2).astype(np.uint8)
    names = [segmentation.CLASSES[one] for one in classes_at(likeliest, laid, mask.shape[1], mask.shape[0])]
    seen = [name if name in CLASSES else "other" for name in names]
    compared, errors = {}, {}
    for name in COUNTED_SHARES:
        counted, _ = counted_share(tally_of(said), name)
        measured, truth = getattr(drawn.measurement, name), scene.truth["frame"][name]
        if counted and measured and truth is not None:
            compared[name] = ComparedShare(scene.name, counted, measured, counting_variance(tally_of(said), name))
            errors[name] = measured.value - truth
    return CountedScene(scene.name, compared, confusion(said, seen), errors)


def count_scenes(points: int = 100, every: int = 1, seed: int = 1) -> list[CountedScene]:
    chosen = list(scenes_in(SCENES))[::every]
    return [count_scene(scene, points, seed + at) for at, scene in enumerate(chosen)]


def agreement_of(counted: Sequence[CountedScene], name: str) -> ShareAgreement:
    return share_agreement(name, [one.compared[name] for one in counted if name in one.compared])


def kappa_of(counted: Sequence[CountedScene]) -> Kappa | None:
    return kappa_over_photos([one.table for one in counted])


def true_bias_and_spread(counted: Sequence[CountedScene], name: str) -> tuple[float, float]:
    """Mean and standard deviation of the method's errors against the exact truth."""
    errors = [one.true_errors[name] for one in counted if name in one.true_errors]
    return fmean(errors), stdev(errors)


def _points_in(polygon: list[list[float]], size: tuple[int, int], number: int, seed: int) -> list[tuple[float, float]]:
    frame = Image.new("1", size)
    ImageDraw.Draw(frame).polygon([(x, y) for x, y in polygon], fill=1)
    inside, drawn = np.asarray(frame), random.Random(seed)
    laid: list[tuple[float, float]] = []
    while len(laid) < number:
        x, y = drawn.uniform(0, size[0] - 0.1), drawn.uniform(0, size[1] - 0.1)
        if inside[int(y), int(x)]:
            laid.append((x, y))
    return laid


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--points", type=int, default=100)
    parser.add_argument("--every", type=int, default=1)
    asked = parser.parse_args()
    counted = count_scenes(asked.points, asked.every)
    for name in COUNTED_SHARES:
        found = agreement_of(counted, name)
        bias, spread = true_bias_and_spread(counted, name)
        print(*share_sentences(found), f"Within error: {found.within_error} of {found.photos}.", sep="\n")
        print(f"Against the exact truth: bias {100 * bias:+.1f} points, ±{196 * spread:.1f} around it.\n")
    print(kappa_sentence(kappa_of(counted), None))


if __name__ == "__main__":
    main()
