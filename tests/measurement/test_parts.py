"""The smaller parts, each against values worked out by hand."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from measurement.made_scene import made_scene
from PIL import Image

from journal_server.measurement.benchmark.baselines import otsu_threshold
from journal_server.measurement.frame import coverage, long_side, polygon_area
from journal_server.measurement.frame_carry import carry_frame, overlap
from journal_server.measurement.intervals import QUANTITIES, Circumstances, interval
from journal_server.measurement.landmarks import View
from journal_server.measurement.overlay import LEGEND, draw_overlay
from journal_server.measurement.shares import shares_in
from journal_server.measurement.slots import slot_fill

PLAIN = Circumstances(
    canopy_fill=0.6, bloom_cover=0.2, canopy_doubt=0.02, bloom_doubt=0.02, bloom_declared=1.0, card=1.0, framed=1.0,
    green_around=0.1, sharpness=0.7, brightness=0.2, clipped=0.0, light_ratio=3.0, frame_megapixels=0.5,
)  # fmt: skip


def certain(labels: np.ndarray) -> np.ndarray:
    return np.eye(6, dtype=np.float32)[labels]


def test_coverage_is_exact_for_whole_and_half_pixels() -> None:
    square = np.array([[1.0, 1], [4, 1], [4, 3], [1, 3]])
    mask = coverage(square, (5, 6), (1.0, 1.0))
    assert mask.sum() == pytest.approx(6)
    # Edges lie within a quarter of a pixel: four steps a pixel.
    half = coverage(square + np.array([0.5, 0]), (5, 6), (1.0, 1.0))[1]
    assert half.tolist() == pytest.approx([0, 0.5, 1, 1, 0.5, 0], abs=0.26)
    assert coverage(square, (10, 12), (2.0, 2.0)).sum() == pytest.approx(24)


@pytest.mark.parametrize("angle", [0, 10, 33, 80])
def test_coverage_sums_to_the_area_and_the_long_side_is_found(angle: float) -> None:
    turn = np.radians(angle)
    box = np.array([[-60.0, -20], [60, -20], [60, 20], [-60, 20]])
    turned = box @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + [100, 100]
    assert polygon_area(turned) == pytest.approx(4800)
    assert coverage(turned, (200, 200), (1.0, 1.0)).sum() == pytest.approx(4800, rel=0.01)
    assert abs(long_side(turned) @ [np.cos(turn), np.sin(turn)]) == pytest.approx(1)


def test_shares_are_as_defined() -> None:
    labels = np.zeros((10, 10), int)
    labels[:, :4], labels[:, 4:6], labels[:, 6:7], labels[:, 7:8], labels[:, 8:9] = 1, 2, 3, 5, 4
    shares = shares_in(certain(labels), np.ones((10, 10), np.float32))
    # 40 leaf, 20 bloom, 10 spent of 100; the card's 10 hide what is behind and count as frame, not plant.
    assert shares.canopy_fill == pytest.approx(0.7)
    assert shares.bloom_cover == pytest.approx(2 / 7)
    assert shares.flower_to_leaf == pytest.approx(0.5)
    assert shares.spent_share == pytest.approx(1 / 7)


def test_shares_without_plant_or_leaf_are_none_with_a_reason() -> None:
    frame = np.ones((10, 10), np.float32)
    bare = shares_in(certain(np.zeros((10, 10), int)), frame)
    assert (bare.canopy_fill, bare.bloom_cover, bare.flower_to_leaf, bare.spent_share) == (0.0, None, None, None)
    assert set(bare.reasons) == {"bloom_cover", "flower_to_leaf", "spent_share"}
    only_bloom = shares_in(certain(np.full((10, 10), 2)), frame)
    assert (only_bloom.bloom_cover, only_bloom.flower_to_leaf) == (1.0, None)
    assert "No foliage" in only_bloom.reasons["flower_to_leaf"]


@pytest.mark.parametrize(
    ("fills", "lagging"),
    [
        ([0.8, 0.9, 0.4, 0.85, 0.8], 3),
        ([0.3, 0.9, 0.85, 0.9, 0.8], 1),
        ([0.6, 0.9, 0.88, 0.9, 0.55], None),
        ([0.8, 0.8, 0.8], None),
        ([0.01, 0.02, 0.0], None),
    ],
)
def test_slots_and_the_lagging_plant(fills: list[float], lagging: int | None) -> None:
    canopy = np.repeat(np.array(fills, np.float32), 20)[None].repeat(30, axis=0)
    polygon = np.array([[0.0, 0], [20 * len(fills), 0], [20 * len(fills), 30], [0, 30]])
    found = slot_fill(canopy, np.ones_like(canopy), polygon, len(fills))
    assert found.fill == pytest.approx(fills, abs=1e-6)
    assert found.lagging == lagging
    if np.median(fills) > 0.01:
        assert found.evenness == pytest.approx(min(fills) / np.median(fills))


def test_slots_of_an_upright_frame_run_down() -> None:
    canopy = np.zeros((60, 20), np.float32)
    canopy[40:] = 1
    found = slot_fill(canopy, np.ones_like(canopy), np.array([[0.0, 0], [20, 0], [20, 60], [0, 60]]), 3)
    assert found.fill == pytest.approx((0, 0, 1))


def test_otsu_parts_two_heaps() -> None:
    random = np.random.default_rng(2)
    values = np.concatenate([random.normal(0, 1, 4000), random.normal(10, 1, 2000)])
    assert 3 < otsu_threshold(values) < 7


def test_the_overlay_is_readable_without_hue() -> None:
    srgb = np.full((240, 320, 3), 120, np.uint8)
    labels = np.zeros((60, 80), int)
    labels[:, 20:40], labels[:, 40:60], labels[:, 60:] = 1, 2, 3
    frame = np.array([[10.0, 10], [300, 10], [300, 230], [10, 230]])
    for file_format in ("WEBP", "PNG"):
        drawn = Image.open(io.BytesIO(draw_overlay(srgb, certain(labels), frame, file_format=file_format)))
        assert drawn.size == (320, 240)
    grey = np.asarray(drawn.convert("L")).astype(float)[40:200]
    background, leaf, bloom, spent = (np.median(grey[:, x : x + 40]) for x in (20, 100, 180, 250))
    assert bloom > background + 25 > leaf
    assert spent < leaf - 15
    assert {entry.code for entry in LEGEND} == {"bloom", "foliage", "spent", "background"}


def carried(
    scale: float, turn: float, shift: tuple[float, float], *, card: bool, landmarks: bool
) -> tuple[object, np.ndarray]:
    scene = made_scene(7, 80, 30)
    height, width = 480, 640
    rotation = scale * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    corners = np.array([[300.0, 200], [360, 200], [360, 242], [300, 242]])
    random = np.random.default_rng(4)
    wall = Image.fromarray(random.integers(0, 255, (60, 80, 3)).astype(np.uint8)).resize(
        (width, height), Image.Resampling.BICUBIC
    )
    first = np.asarray(Image.blend(scene.picture, wall, 0.4).convert("L"))
    inverse = np.linalg.inv(rotation)
    offset = -inverse @ np.array(shift)
    second = Image.fromarray(first).transform(
        (width, height),
        Image.Transform.AFFINE,
        (*inverse[0], offset[0], *inverse[1], offset[1]),
        Image.Resampling.BICUBIC,
    )
    views = [
        View(width, height, corners if card else None, first if landmarks else None),
        View(width, height, corners @ rotation.T + shift if card else None, np.asarray(second) if landmarks else None),
    ]
    frame = np.array(scene.frame)
    return carry_frame(frame, *views), frame @ rotation.T + shift


@pytest.mark.parametrize(
    ("card", "landmarks", "how"), [(True, True, "card and features"), (False, True, "features"), (True, False, "card")]
)
def test_a_frame_follows_the_camera(card: bool, landmarks: bool, how: str) -> None:
    result, expected = carried(0.93, 0.05, (22.0, -9.0), card=card, landmarks=landmarks)
    assert result.how == how  # type: ignore[attr-defined]
    assert np.abs(np.array(result.polygon) - expected).max() < 4  # type: ignore[attr-defined]


def test_a_frame_that_cannot_be_carried_stays_with_a_warning() -> None:
    result = carry_frame(np.array([[0.0, 0], [100, 0], [100, 80]]), View(200, 100), View(400, 200))
    assert result.how == "scaled"
    assert result.polygon == ((0.0, 0.0), (200.0, 0.0), (200.0, 160.0))
    assert "draw it again" in (result.warning or "")
    assert result.error_px is None


def test_a_moved_card_is_noticed() -> None:
    result, expected = carried(1.0, 0.0, (10.0, 5.0), card=False, landmarks=True)
    scene_views = carried(1.0, 0.0, (10.0, 5.0), card=True, landmarks=True)[0]
    assert scene_views.warning is None  # type: ignore[attr-defined]
    assert overlap(np.array(result.polygon), expected) > 0.97  # type: ignore[attr-defined]


def test_overlap_of_shifted_squares() -> None:
    square = np.array([[0.0, 0], [100, 0], [100, 100], [0, 100]])
    assert overlap(square, square) == pytest.approx(1)
    assert overlap(square, square + np.array([50, 0])) == pytest.approx(1 / 3, abs=0.01)
    assert overlap(square, square + np.array([500, 0])) == 0


@pytest.mark.parametrize("method", ["learned 3", "colour 1"])
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_intervals_widen_when_the_photo_is_poor(method: str, quantity: str) -> None:
    def width(seen: Circumstances) -> float:
        estimate = interval(quantity, 0.5, seen, method)
        assert 0 <= estimate.low < 0.5 < estimate.high
        return estimate.high - estimate.low

    best = width(PLAIN)
    for worse in (
        {"canopy_doubt": 0.15, "bloom_doubt": 0.15},
        {"bloom_declared": 0.0},
        {"card": 0.0},
        {"sharpness": 0.1},
        {"clipped": 0.4},
        {"green_around": 0.9},
        {"card": 0.0, "framed": 0.0},
    ):
        assert width(replace(PLAIN, **worse)) >= best - 1e-12, worse
    assert width(replace(PLAIN, card=0.0, framed=0.0)) > best


def test_shares_stay_within_their_bounds() -> None:
    for value in (0.0, 0.001, 0.999, 1.0):
        estimate = interval("canopy_fill", value, PLAIN, "learned 3")
        assert 0 <= estimate.low <= value <= estimate.high <= 1
