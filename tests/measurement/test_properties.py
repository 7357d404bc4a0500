"""What must not change a number must not change it by more than its interval says."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from measurement.made_scene import HEIGHT, WIDTH, MadeScene, made_scene
from PIL import Image

from journal_server.measurement import Measurement, measure_photo
from journal_server.measurement.colour import linear_to_srgb, srgb_to_linear

SCENES = [
    made_scene(1, 60, 25),
    made_scene(2, 140, 60, (235, 200, 40)),
    made_scene(3, 25, 0),
    made_scene(4, 160, 90, (120, 70, 190)),
]
COLOURS = [["#d63c8c"], ["#ebc828"], [], ["#7846be"]]
few = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
which = st.integers(0, len(SCENES) - 1)


def measured(index: int, picture: Image.Image, frame: list[tuple[float, float]]) -> Measurement:
    return measure_photo(picture, frame=frame, bloom_colours=COLOURS[index], plants=3)


def plain(index: int) -> tuple[MadeScene, Measurement]:
    scene = SCENES[index]
    if index not in _MEASURED:
        _MEASURED[index] = measured(index, scene.picture, list(scene.frame))
    return scene, _MEASURED[index]


_MEASURED: dict[int, Measurement] = {}


def assert_agree(first: Measurement, second: Measurement) -> None:
    for name in ("canopy_fill", "bloom_cover", "spent_share"):
        one, other = getattr(first, name), getattr(second, name)
        assert (one is None) == (other is None), name
        if one is not None:
            allowed = max(one.high - one.low, other.high - other.low)
            assert abs(one.value - other.value) <= allowed, f"{name}: {one} against {other}"


@few
@given(which, st.integers(1, 3))
def test_turning_the_photo(index: int, quarters: int) -> None:
    scene, before = plain(index)
    picture, frame = scene.picture, list(scene.frame)
    for _ in range(quarters):
        width = picture.width
        picture = picture.transpose(Image.Transpose.ROTATE_90)
        frame = [(y, width - x) for x, y in frame]
    assert_agree(before, measured(index, picture, frame))


@few
@given(which, st.floats(0.7, 1.8))
def test_another_resolution(index: int, factor: float) -> None:
    scene, before = plain(index)
    size = round(WIDTH * factor), round(HEIGHT * factor)
    frame = [(x * size[0] / WIDTH, y * size[1] / HEIGHT) for x, y in scene.frame]
    assert_agree(before, measured(index, scene.picture.resize(size, Image.Resampling.BICUBIC), frame))


@few
@given(which, st.floats(0.7, 1.3), st.floats(0.92, 1.08), st.floats(0.92, 1.08))
def test_exposure_and_white_balance(index: int, exposure: float, red: float, blue: float) -> None:
    scene, before = plain(index)
    linear = srgb_to_linear(np.asarray(scene.picture)) * np.array([red, 1, blue], np.float32) * np.float32(exposure)
    changed = Image.fromarray(np.rint(linear_to_srgb(linear) * 255).astype(np.uint8))
    assert_agree(before, measured(index, changed, list(scene.frame)))


@few
@given(which, st.integers(60, 95))
def test_jpeg_quality(index: int, quality: int) -> None:
    scene, before = plain(index)
    buffer = io.BytesIO()
    scene.picture.save(buffer, "JPEG", quality=quality)
    assert_agree(before, measured(index, Image.open(buffer), list(scene.frame)))


@few
@given(which, st.floats(0, 60), st.floats(0, 60))
def test_cropping_what_lies_outside_the_frame(index: int, left: float, top: float) -> None:
    scene, before = plain(index)
    box = int(left), int(top), WIDTH, HEIGHT
    frame = [(x - box[0], y - box[1]) for x, y in scene.frame]
    assert_agree(before, measured(index, scene.picture.crop(box), frame))


@pytest.mark.parametrize("index", range(len(SCENES)))
def test_the_same_photo_gives_the_same_numbers(index: int) -> None:
    scene, before = plain(index)
    assert measured(index, scene.picture.copy(), list(scene.frame)) == before
