"""The same planting photographed again, simulated: another stance, distance and light, the same plants.

A scene is warped as a plane seen from up to 5 degrees to the side or above and from up to 10 % nearer or farther, then
given another exposure, white balance, contrast and coding. Leaves at other depths would shift against each other in
truth; this shows the method's own scatter, not the parallax.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from PIL import Image

from journal_server.measurement.benchmark.scenes import Scene
from journal_server.measurement.measure import measure_photo

Array = npt.NDArray[np.float64]

QUANTITIES = ("canopy_fill", "bloom_cover", "spent_share")
REPEATS = 6
TURN_DEG, DISTANCE = 5.0, 0.10


def repeat_table(scenes: Sequence[Scene], most: int = 12) -> list[str]:
    """Standard deviation within a planting over simulated repeats, in points, for a spread of scenes."""
    random = np.random.default_rng(20_260_819)
    chosen = list(scenes)[:: max(1, len(scenes) // most)][:most]
    spread: dict[str, list[float]] = {name: [] for name in QUANTITIES}
    for scene in chosen:
        measured = [_measured_again(scene, random) for _ in range(REPEATS)]
        for name in QUANTITIES:
            values = [value for m in measured if (value := m[name]) is not None]
            if len(values) > 1:
                spread[name].append(float(np.var(values, ddof=1)))
    lines = [f"The same planting again (simulated), {len(chosen)} scenes x {REPEATS}: standard deviation in points"]
    lines += [f"  {name:<14}{100 * math.sqrt(np.mean(spread[name])):6.2f}" for name in QUANTITIES if spread[name]]
    return lines


def _measured_again(scene: Scene, random: np.random.Generator) -> dict[str, float | None]:
    with Image.open(scene.photo) as opened:
        upright = opened.convert("RGB")
    if upright.size != (scene.truth["image"]["width"], scene.truth["image"]["height"]):
        upright = _upright(scene)
    forward = _stance(upright.size, random)
    again = _relit(_warped(upright, forward), random)
    settings = scene.settings() | {"frame": _moved(np.array(scene.truth["frame_polygon"], float), forward)}
    measured = measure_photo(again, **settings)
    estimates = {name: getattr(measured, name) for name in QUANTITIES}
    return {name: estimate.value if estimate else None for name, estimate in estimates.items()}


def _upright(scene: Scene) -> Image.Image:
    from journal_server.measurement.photo_file import open_photo, render

    return render(open_photo(scene.photo))


def _stance(size: tuple[int, int], random: np.random.Generator) -> Array:
    """Homography (3, 3) from the photo's pixels to the repeat's: a plane turned and moved before the lens."""
    width, height = size
    focal = 0.8 * width
    yaw, pitch, roll = np.deg2rad(random.uniform(-TURN_DEG, TURN_DEG, 3) * [1, 1, 0.4])
    cy, sy, cp, sp, cr, sr = (f(a) for a in (yaw, pitch, roll) for f in (np.cos, np.sin))
    turn = (
        np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
        @ np.array([[1, 0, 0], [0, cp, -sp], [0, sp, cp]])
        @ np.array([[cr, -sr, 0], [sr, cr, 0], [0, 0, 1]])
    )
    distance = 1 + random.uniform(-DISTANCE, DISTANCE)
    lens = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1]])
    plane = np.column_stack([turn[:, 0], turn[:, 1], [0, 0, distance]])
    return np.asarray(lens @ plane @ np.linalg.inv(lens))


def _moved(points: Array, forward: Array) -> list[tuple[float, float]]:
    there = np.column_stack([points, np.ones(len(points))]) @ forward.T
    return [(float(x), float(y)) for x, y in there[:, :2] / there[:, 2:]]


def _warped(photo: Image.Image, forward: Array) -> Image.Image:
    back = np.linalg.inv(forward)
    numbers = (back / back[2, 2]).ravel()[:8]
    mean = tuple(int(v) for v in np.asarray(photo).reshape(-1, 3).mean(axis=0))
    return photo.transform(
        photo.size, Image.Transform.PERSPECTIVE, tuple(numbers), Image.Resampling.BICUBIC, fillcolor=mean
    )


def _relit(photo: Image.Image, random: np.random.Generator) -> Image.Image:
    levels = np.asarray(photo, np.float32) / 255
    gains = 2.0 ** random.uniform(-0.5, 0.3) * np.exp(random.uniform(-0.06, 0.06, 3))
    lit = np.clip((levels**2.2) * gains, 0, 1) ** (random.uniform(0.92, 1.08) / 2.2)
    noisy = lit + random.normal(0, random.uniform(0, 0.015), lit.shape)
    picture = Image.fromarray((np.clip(noisy, 0, 1) * 255 + 0.5).astype(np.uint8))
    coded = io.BytesIO()
    picture.save(coded, "JPEG", quality=int(random.integers(78, 95)))
    return Image.open(io.BytesIO(coded.getvalue()))
