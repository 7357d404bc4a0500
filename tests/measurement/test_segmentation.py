"""The learned segmentation on drawn pictures whose areas are known, and its contract."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from journal_server.measurement import segmentation
from journal_server.measurement.segmentation import CLASSES, segment, working_size
from journal_server.measurement.training.drawn_scenes import draw_scene

NO_COLOURS = np.zeros((0, 3))
PINK_LAB = np.array([[60.0, 62.0, 2.0]])
LEAF_LAB = np.array([[42.0, -28.0, 30.0]])


def mound_photo(width: int = 800, height: int = 600, seed: int = 5) -> tuple[NDArray[np.uint8], float]:
    """A round mound of leaves with pink flowers before a grey wall, and the share of the photo it covers."""
    random = np.random.default_rng(seed)
    photo = Image.new("RGB", (width, height), (150, 145, 138))
    plant = Image.new("1", (width, height), 0)
    brushes = (ImageDraw.Draw(photo), ImageDraw.Draw(plant))
    unit = height / 600
    centre = np.array([width / 2, height / 2])

    def ellipse(at: NDArray[np.float64], a: float, b: float, colour: tuple[int, int, int]) -> None:
        box = (at[0] - a, at[1] - b, at[0] + a, at[1] + b)
        brushes[0].ellipse(box, fill=colour)
        brushes[1].ellipse(box, fill=1)

    ellipse(centre, 190 * unit, 190 * unit, (25, 45, 22))
    for index in range(900):
        angle, reach = random.uniform(0, 2 * np.pi), 190 * unit * np.sqrt(random.random())
        at = centre + reach * np.array([np.cos(angle), np.sin(angle)])
        lit = 0.5 + 0.5 * index / 900
        ellipse(at, 16 * unit, 7 * unit, (int(70 * lit), int(135 * lit), int(55 * lit)))
    for _ in range(28):
        angle, reach = random.uniform(0, 2 * np.pi), 170 * unit * np.sqrt(random.random())
        at = centre + reach * np.array([np.cos(angle), np.sin(angle)])
        for petal in range(5):
            turn = petal * 2 * np.pi / 5
            ellipse(at + 9 * unit * np.array([np.cos(turn), np.sin(turn)]), 9 * unit, 9 * unit, (225, 70, 140))
        ellipse(at, 4 * unit, 4 * unit, (240, 210, 80))
    return np.asarray(photo), float(np.asarray(plant).mean())


def plant_share(probabilities: NDArray[np.float32]) -> float:
    return float(probabilities[..., 1:4].sum(-1).mean())


@pytest.mark.parametrize(("width", "height"), [(640, 480), (3000, 4000), (97, 1501), (20, 20), (1, 1)])
def test_any_size_gives_probabilities_at_the_working_size(width: int, height: int) -> None:
    photo = np.full((height, width, 3), 120, np.uint8)
    probabilities = segment(photo, NO_COLOURS, NO_COLOURS)
    w, h = working_size(width, height)
    assert probabilities.shape == (h, w, len(CLASSES))
    assert probabilities.dtype == np.float32
    np.testing.assert_allclose(probabilities.sum(-1), 1, atol=1e-4)
    assert w * h <= 1.02 * segmentation.WORKING_PIXELS + w + h


@pytest.mark.parametrize(
    "photo", [np.zeros((4, 4), np.uint8), np.zeros((0, 4, 3), np.uint8), np.zeros((4, 4, 3), np.float32)]
)
def test_what_is_no_photo_is_refused(photo: NDArray[np.uint8]) -> None:
    with pytest.raises(ValueError, match="expected a non-empty"):
        segment(photo, NO_COLOURS, NO_COLOURS)


@pytest.mark.parametrize("told", [True, False])
def test_a_drawn_mound_is_found(told: bool) -> None:
    photo, covered = mound_photo()
    colours = (PINK_LAB, LEAF_LAB) if told else (NO_COLOURS, NO_COLOURS)
    assert plant_share(segment(photo, *colours)) == pytest.approx(covered, abs=0.05)


@pytest.mark.parametrize("gains", [(1.15, 1.0, 0.85), (0.85, 1.0, 1.15), (0.6, 0.6, 0.6), (1.3, 1.3, 1.3)])
def test_white_balance_and_exposure_change_little(gains: tuple[float, float, float]) -> None:
    photo, covered = mound_photo()
    changed = np.clip(photo * np.array(gains), 0, 255).astype(np.uint8)
    assert plant_share(segment(changed, NO_COLOURS, NO_COLOURS)) == pytest.approx(covered, abs=0.07)


def test_a_mirrored_photo_measures_the_same() -> None:
    photo, _ = mound_photo()
    mirrored = np.ascontiguousarray(photo[:, ::-1])
    difference = plant_share(segment(photo, PINK_LAB, LEAF_LAB)) - plant_share(segment(mirrored, PINK_LAB, LEAF_LAB))
    assert abs(difference) < 0.015


def test_a_bare_wall_holds_no_plant() -> None:
    wall = np.random.default_rng(3).normal(150, 6, (480, 640, 3)).clip(0, 255).astype(np.uint8)
    assert plant_share(segment(wall, NO_COLOURS, NO_COLOURS)) < 0.05


def test_lab_tables_match_a_reference_library() -> None:
    color = pytest.importorskip("skimage.color")
    srgb = np.random.default_rng(1).integers(0, 256, (40, 50, 3), dtype=np.uint8)
    np.testing.assert_allclose(segmentation._lab_planes(srgb).transpose(1, 2, 0), color.rgb2lab(srgb), atol=1.0)


def test_import_loads_neither_runtime_nor_training_code() -> None:
    code = (
        "import sys; import journal_server.measurement.segmentation as s; s.working_size(4, 3); "
        "print([m for m in ('onnxruntime', 'torch', 'onnx') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_shipped_weights_are_small() -> None:
    weights = segmentation.files("journal_server.measurement").joinpath("weights", "segmentation.onnx")
    assert len(weights.read_bytes()) < 5_000_000


def test_drawn_training_scenes_follow_from_their_seed() -> None:
    first, again, other = (draw_scene(seed, 96) for seed in (7, 7, 8))
    assert np.array_equal(first.srgb, again.srgb)
    assert np.array_equal(first.classes, again.classes)
    assert not np.array_equal(first.srgb, other.srgb)
    assert int(first.classes.max()) < len(CLASSES)


def test_a_drawn_background_holds_no_plant() -> None:
    assert not draw_scene(12, 96, plants=False).classes.any()


def test_hints_are_zero_where_nothing_is_declared_and_flagged_where_it_is() -> None:
    photo = np.full((64, 96, 3), (225, 70, 140), np.uint8)
    without, told = (segmentation.network_inputs(photo, bloom, NO_COLOURS)["x"] for bloom in (NO_COLOURS, PINK_LAB))
    assert without.shape == told.shape == (1, 9, 64, 96)
    assert not without[0, 3:].any()
    assert (told[0, 5] == 1).all()
    assert not told[0, 6:].any()
    assert np.abs(told[0, 3:5]).max() < 0.3


def test_scenes_learned_from_are_listed_with_their_hashes() -> None:
    listed = (Path(segmentation.__file__).parent / "training" / "data.csv").read_text().splitlines()
    assert listed[0] == "name,photo_sha256,classes_sha256"
    names = [row.split(",")[0] for row in listed[1:]]
    assert len(names) == len(set(names)) == 450
    assert all(name.startswith(("train_", "dense_")) for name in names)
    assert all(len(digest) == 64 for row in listed[1:] for digest in row.split(",")[1:])
