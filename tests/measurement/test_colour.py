"""Colour against published values: IEC 61966-2-1 for sRGB, Sharma, Wu and Dalal (2005) for CIEDE2000."""

from __future__ import annotations

import csv
import inspect
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage import color as skimage_color
from skimage.color import delta_e as skimage_delta_e

from journal_server.measurement.colour import (
    delta_e_00,
    lab_of_hexes,
    lab_to_hex,
    lab_to_linear,
    linear_to_lab,
    linear_to_srgb,
    srgb_to_lab,
    srgb_to_linear,
)

REFERENCE = Path(__file__).parents[1] / "reference"


def sharma_pairs() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    with (REFERENCE / "ciede2000_sharma_wu_dalal_2005.csv").open() as file:
        rows = np.array([[float(v) for v in list(row.values())[1:]] for row in csv.DictReader(file)])
    return rows[:, :3], rows[:, 3:6], rows[:, 6]


def test_ciede2000_gives_the_published_differences() -> None:
    first, second, published = sharma_pairs()
    assert len(published) == 34
    np.testing.assert_allclose(delta_e_00(first, second), published, rtol=0, atol=1e-4)


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("0.5 * (1 - np.sqrt", "0.49 * (1 - np.sqrt"),
        ("0.17 * np.cos", "0.18 * np.cos"),
        ("0.24 * np.cos", "0.23 * np.cos"),
        ("0.32 * np.cos", "0.31 * np.cos"),
        ("0.20 * np.cos", "0.21 * np.cos"),
        ("np.deg2rad(63)", "np.deg2rad(62)"),
        ("1 + 0.045 * Cbar", "1 + 0.046 * Cbar"),
        ("0.015 * tmp", "0.016 * tmp"),
        ("- 275) / 25", "- 274) / 25"),
    ],
)
def test_the_published_pairs_catch_a_broken_constant(right: str, wrong: str) -> None:
    source = inspect.getsource(skimage_delta_e.deltaE_ciede2000)
    assert source.count(right) >= 1
    broken = dict(vars(skimage_delta_e))
    exec(compile(source.replace(right, wrong), "broken", "exec"), broken)
    first, second, published = sharma_pairs()
    assert np.abs(broken["deltaE_ciede2000"](first, second) - published).max() > 1e-4


def test_srgb_transfer_has_the_values_of_the_standard() -> None:
    # IEC 61966-2-1:1999: linear part 12.92 up to 0.0031308 (0.04045 encoded); mid values by its formula,
    # with 18 % grey and byte 128 as known from the formula's many published tables (from memory).
    assert srgb_to_linear(np.array([0.04045]))[0] == pytest.approx(0.0031308, abs=1e-6)
    assert linear_to_srgb(np.array([0.0031308]))[0] == pytest.approx(0.04045, abs=1e-5)
    assert srgb_to_linear(np.array([128], np.uint8))[0] == pytest.approx(0.21586, abs=1e-5)
    assert linear_to_srgb(np.array([0.18]))[0] == pytest.approx(0.46136, abs=1e-5)


@pytest.mark.parametrize(
    ("colour", "lab"),
    [
        # CIELAB (D65) of the sRGB primaries as widely tabulated to two decimals (from memory).
        ("#ffffff", (100.00, 0.00, 0.00)),
        ("#ff0000", (53.24, 80.09, 67.20)),
        ("#00ff00", (87.73, -86.18, 83.18)),
        ("#0000ff", (32.30, 79.19, -107.86)),
    ],
)
def test_primaries_in_cielab(colour: str, lab: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(lab_of_hexes([colour])[0], lab, rtol=0, atol=0.02)


def test_cielab_agrees_with_scikit_image() -> None:
    every = np.stack(np.meshgrid(*[np.arange(0, 256, 15, dtype=np.uint8)] * 3), axis=-1)
    # scikit-image rounds its matrix and white differently: up to 0.02 in a* and b*.
    np.testing.assert_allclose(srgb_to_lab(every), skimage_color.rgb2lab(every), rtol=0, atol=0.03)


@given(st.lists(st.integers(0, 255), min_size=3, max_size=3))
def test_colours_come_back_from_cielab(levels: list[int]) -> None:
    linear = srgb_to_linear(np.array(levels, np.uint8))
    np.testing.assert_allclose(lab_to_linear(linear_to_lab(linear)), linear, rtol=0, atol=2e-5)
    assert lab_to_hex(linear_to_lab(linear)) == "#" + "".join(f"{v:02x}" for v in levels)


@pytest.mark.parametrize("text", ["red", "#12345", "#1234567", "", "#gggggg", 7, None])
def test_other_writings_of_a_colour_are_refused(text: object) -> None:
    with pytest.raises(ValueError, match="#rrggbb"):
        lab_of_hexes([text])  # type: ignore[list-item]
