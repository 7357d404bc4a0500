"""One photo laid over another: against known maps, and against the exact truth of the sample season."""

from __future__ import annotations

import itertools
import json
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage.transform import ProjectiveTransform, warp

from journal_server.measurement.card_layout import project
from journal_server.measurement.landmarks import View
from journal_server.measurement.photo_file import luminance, open_photo, render
from journal_server.measurement.registration import TYPICAL_ERROR, lay_over, register, scaled

PHOTOS = Path(__file__).resolve().parents[2] / "sample_photos"
TRUTH = Path(__file__).resolve().parents[1] / "season_truth"

SMALL_TURN = [[1.03, -0.05, 12.0], [0.05, 1.03, -9.0], [0.0, 0.0, 1.0]]
FARTHER = [[0.81, 0.03, 70.0], [-0.03, 0.81, 95.0], [0.0, 0.0, 1.0]]
FROM_THE_SIDE = [[1.05, 0.02, -40.0], [0.04, 1.02, -25.0], [1.2e-4, 2e-5, 1.0]]


@lru_cache
def grey(name: str) -> np.ndarray:
    return luminance(open_photo(PHOTOS / name), 400_000)


@lru_cache
def truth(name: str) -> dict:
    return json.loads((TRUTH / name.replace(".jpg", ".truth.json")).read_text(encoding="utf-8"))


@lru_cache
def view(name: str, with_card: bool = True) -> View:
    tag = truth(name)["tag"]
    corners = np.array(tag["corners_px"]) if with_card and tag and tag["visible_fraction"] > 0.5 else None
    return View(truth(name)["image"]["width"], truth(name)["image"]["height"], corners, grey(name))


def moved(picture: np.ndarray, matrix: np.ndarray) -> np.ndarray:
    """The picture as seen after ``matrix``, darker and a little noisy, by scikit-image's own warp."""
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])  # warp counts pixel centres as whole numbers
    back = ProjectiveTransform(np.linalg.inv(np.linalg.inv(half) @ matrix @ half))
    noise = np.random.default_rng(4).normal(0, 0.01, picture.shape)
    return (np.clip(0.85 * warp(picture, back, order=1, mode="reflect") + noise, 0, 1) * 255).astype(np.uint8)


def error_px(found: np.ndarray, true: np.ndarray, width: int, height: int) -> float:
    """Mean distance between where two maps take the places of a photo."""
    steps = (np.arange(9) + 0.5) / 9
    grid = np.stack(np.meshgrid(steps * width, steps * height), axis=-1).reshape(-1, 2)
    there = project(true, grid)
    inside = ((there >= 0) & (there < [width, height])).all(axis=1)
    return float(np.linalg.norm(project(found, grid) - there, axis=1)[inside].mean())


@pytest.mark.parametrize("name", ["p3_2026-07-14.jpg", "p5_2026-06-17.jpg"])
@pytest.mark.parametrize("matrix", [SMALL_TURN, FARTHER, FROM_THE_SIDE], ids=["turned", "farther", "from the side"])
def test_a_known_map_is_found_to_a_pixel(name: str, matrix: list[list[float]]) -> None:
    first = grey(name)
    known = np.array(matrix)
    height, width = first.shape
    second = View(width, height, None, moved(first, np.linalg.inv(known)))
    found = register(View(width, height, None, first), second)
    assert found.matrix is not None
    assert error_px(found.matrix, known, width, height) < 1.0
    assert found.error_px == pytest.approx(TYPICAL_ERROR[found.how] * max(width, height))


def test_the_card_places_a_photo_where_there_is_nothing_else() -> None:
    card = np.array([[300.0, 300.0], [400.0, 296.0], [402.0, 366.0], [303.0, 370.0]])
    known = np.array(SMALL_TURN)
    plain = np.full((480, 640), 90, np.uint8)
    found = register(View(640, 480, card, plain), View(640, 480, project(np.linalg.inv(known), card), plain))
    assert found.how == "card"
    assert found.matrix is not None
    assert error_px(found.matrix, known, 640, 480) < 0.01


def test_what_cannot_be_registered_says_so() -> None:
    noise = np.random.default_rng(8).integers(0, 255, (480, 640)).astype(np.uint8)
    other = np.random.default_rng(9).integers(0, 255, (480, 640)).astype(np.uint8)
    found = register(View(640, 480, None, noise), View(640, 480, None, other))
    assert (found.matrix, found.how, found.error_px) == (None, "failed", None)
    assert found.reason


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ([[0, 0], [1000, 0], [1000, 700], [0, 700]], "distance"),
        ([[2000, 2000], [2100, 2000], [2100, 2070], [2000, 2070]], "overlap"),
    ],
)
def test_maps_that_no_two_photos_of_a_planting_have_are_refused(corners: list[list[float]], words: str) -> None:
    card = np.array([[300.0, 300.0], [400.0, 300.0], [400.0, 370.0], [300.0, 370.0]])
    plain = np.full((480, 640), 90, np.uint8)
    found = register(View(640, 480, np.array(corners, float), plain), View(640, 480, card, plain))
    assert found.matrix is None
    assert words in (found.reason or "")


def outline_distance(points: np.ndarray, outline: np.ndarray) -> float:
    starts, ends = outline, np.roll(outline, -1, axis=0)
    along = ends - starts
    at = np.clip(((points[:, None] - starts) * along).sum(-1) / (along**2).sum(-1), 0, 1)
    return float(np.linalg.norm(points[:, None] - starts - at[..., None] * along, axis=-1).min(axis=1).mean())


def test_pairs_of_the_sample_season_lie_within_the_error_they_tell() -> None:
    """Every date of every planting against the next: the frame of one photo on the frame of the other."""
    within, failed = [], 0
    for number in range(1, 9):
        for a, b in itertools.pairwise(sorted(path.name for path in PHOTOS.glob(f"p{number}_*.jpg"))):
            found = register(view(a), view(b))
            if found.matrix is None or found.error_px is None:
                failed += 1
                continue
            frame_a, frame_b = (np.array(truth(name)["frame_polygon"]) for name in (a, b))
            within.append(outline_distance(project(found.matrix, frame_b), frame_a) <= found.error_px)
    assert failed <= 3
    assert np.mean(within) >= 0.85


def test_the_second_photo_is_drawn_on_the_place_of_the_first() -> None:
    photo = open_photo(PHOTOS / "p3_2026-07-14.jpg")
    whole = render(photo, 640)
    known = np.array(SMALL_TURN)
    second = lay_over(whole, whole.size, np.linalg.inv(known)).convert("RGB")
    back = lay_over(second, whole.size, known)
    there, here = np.asarray(back.convert("RGB"), float), np.asarray(whole, float)
    middle = slice(60, -60)
    assert np.abs(there - here)[middle, middle].mean() < 6
    assert np.abs(np.asarray(second, float) - here)[middle, middle].mean() > 20
    corner = back.getpixel((0, 0))
    assert isinstance(corner, tuple)
    assert len(corner) == 4


def test_a_map_between_reduced_photos_is_the_same_map() -> None:
    matrix = np.array(FROM_THE_SIDE)
    point = np.array([[200.0, 120.0]])
    reduced = scaled(matrix, 0.5, 0.25)
    assert project(reduced, point * 0.25) == pytest.approx(project(matrix, point) * 0.5)


def test_a_picture_that_does_not_reach_is_seen_through() -> None:
    shift = np.array([[1.0, 0, 30.0], [0, 1.0, 0], [0, 0, 1.0]])
    drawn = lay_over(Image.new("RGB", (60, 40), "red"), (60, 40), shift)
    assert drawn.getpixel((5, 20)) == (0, 0, 0, 0)
    assert drawn.getpixel((50, 20)) == (255, 0, 0, 255)
