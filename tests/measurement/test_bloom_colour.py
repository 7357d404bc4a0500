"""Colour held against made photos of known reflectance, taken by a made camera with the faults of real ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal_server.measurement.bloom_colour import colours_of
from journal_server.measurement.camera_tone import light_of_levels
from journal_server.measurement.colour import lab_to_linear, srgb_to_linear
from journal_server.measurement.white import White, estimated_white, table_of_patches

PATCHES = np.array([[0.05] * 3, [0.18] * 3, [0.8] * 3])
PETAL_LAB = np.array([60.0, 40.0, -20.0])
LEAF_LAB = np.array([49.0, -14.0, 19.0])
NONE_DECLARED = np.zeros((0, 3), np.float32)
STILL = np.zeros((3, 3))
SIDE = 60


def photographed(light: np.ndarray, strength: float) -> np.ndarray:
    """Levels, uint8, of linear light: highlights rolled off, the sRGB curve (IEC 61966-2-1), then the S-curve."""
    rolled = np.where(light > 0.75, 1 - 0.25 * np.exp(-(np.maximum(light, 0.75) - 0.75) / 0.25), light)
    encoded = np.where(rolled <= 0.0031308, 12.92 * rolled, 1.055 * np.maximum(rolled, 1e-9) ** (1 / 2.4) - 0.055)
    bent = encoded + strength * (3 * encoded**2 - 2 * encoded**3 - encoded)
    return np.rint(255 * np.clip(bent, 0, 1)).astype(np.uint8)


def card(light: np.ndarray, strength: float = 0.55) -> White:
    table = table_of_patches(photographed(PATCHES * light, strength).astype(float), STILL)
    assert table is not None
    return White(table, "card")


def scene(light: np.ndarray, petal: np.ndarray = PETAL_LAB, on_leaves: float = 0.7) -> tuple[np.ndarray, ...]:
    """Petals above, leaves below, each lit unevenly, with the weights of both."""
    shading = np.random.default_rng(1).uniform(0.75, 1.15, (2 * SIDE, SIDE, 1))
    reflectance = np.repeat([lab_to_linear(petal), on_leaves * lab_to_linear(LEAF_LAB)], SIDE, axis=0)[:, None]
    bloom = np.zeros((2 * SIDE, SIDE), np.float32)
    bloom[:SIDE] = 1
    return photographed(reflectance * shading * light, 0.55), bloom, 1 - bloom


def bloom_lab(light: np.ndarray, white: White, petal: np.ndarray = PETAL_LAB, on_leaves: float = 0.7) -> np.ndarray:
    found, _ = colours_of(*scene(light, petal, on_leaves), white, NONE_DECLARED)
    assert found is not None
    return np.array(found.lab)


def test_without_faults_levels_are_srgb() -> None:
    plain = light_of_levels()[0]
    np.testing.assert_allclose(plain[1:200], srgb_to_linear(np.arange(1, 200, dtype=np.uint8)), rtol=1e-3)
    assert (np.diff(light_of_levels(), axis=1) >= 0).all()


@settings(deadline=None)
@given(
    strength=st.floats(0.3, 0.8),
    exposure=st.floats(0.4, 1.1),
    red=st.floats(0.85, 1.15),
    blue=st.floats(0.85, 1.15),
)
def test_the_card_undoes_light_exposure_and_contrast(strength: float, exposure: float, red: float, blue: float) -> None:
    light = exposure * np.array([red, 1.0, blue])
    white = card(light, strength)
    known = np.array([[0.08, 0.3, 0.5], [0.4, 0.12, 0.3], [0.6, 0.5, 0.1], [0.8, 0.8, 0.8]])
    found = white.reflectance(photographed(known * light, strength))
    # The strength is drawn towards the usual one, since printed greys stray: the darkest tones suffer most.
    np.testing.assert_allclose(found, known, rtol=0.3)
    np.testing.assert_allclose(found[3], known[3], rtol=0.04)


def test_a_burnt_out_white_is_told_from_grey_and_black() -> None:
    light = np.array([2.4, 2.2, 2.0])
    levels = photographed(PATCHES * light, 0.55)
    assert (levels[2] == 255).all()
    found = card(light).reflectance(photographed(np.array([[0.2, 0.15, 0.3]]) * light, 0.55))
    np.testing.assert_allclose(found, [[0.2, 0.15, 0.3]], rtol=0.15)


def test_a_leaf_over_the_grey_patch_does_not_count() -> None:
    light = np.array([0.9, 0.9, 0.9])
    levels = photographed(PATCHES * light, 0.55).astype(float)
    levels[1] = [50, 60, 45]
    table = table_of_patches(levels, STILL)
    assert table is not None
    found = White(table, "card").reflectance(photographed(np.array([[0.5, 0.4, 0.3]]) * light, 0.55))
    np.testing.assert_allclose(found, [[0.5, 0.4, 0.3]], rtol=0.15)


def test_a_card_burnt_out_altogether_gives_no_white() -> None:
    assert table_of_patches(np.full((3, 3), 255.0), STILL) is None


@pytest.mark.parametrize("light", [(0.5, 0.5, 0.5), (1.0, 0.9, 0.7), (0.7, 0.8, 0.95)])
def test_the_light_does_not_colour_the_petals(light: tuple[float, float, float]) -> None:
    usual = bloom_lab(np.full(3, 0.8), card(np.full(3, 0.8)))
    np.testing.assert_allclose(bloom_lab(np.array(light), card(np.array(light))), usual, atol=2.5)


def test_leaves_tell_in_part_that_the_card_stands_in_the_shade() -> None:
    shade, sun = np.full(3, 0.4), np.full(3, 0.8)
    told, untold = bloom_lab(sun, card(shade)), bloom_lab(sun, card(shade), on_leaves=0.35)
    assert bloom_lab(sun, card(sun))[0] < told[0] < untold[0] - 5


def test_without_a_card_the_leaves_hold_the_exposure() -> None:
    dark, light = (bloom_lab(np.full(3, e), estimated_white()) for e in (0.4, 0.8))
    assert abs(light[0] - dark[0]) < 6


def test_white_petals_stay_white_though_burnt_out_in_part() -> None:
    light = np.array([1.25, 1.1, 1.05])
    found = bloom_lab(light, card(light), petal=np.array([92.0, 0.0, 2.0]))
    assert np.hypot(found[1], found[2]) < 8
    assert found[0] > 85


def test_the_error_to_expect_grows_with_what_makes_it() -> None:
    light = np.full(3, 0.8)
    burnt, shaded = np.full(3, 6.0), 0.3 * light
    pairs = (
        colours_of(*scene(light), card(light), NONE_DECLARED),
        colours_of(*scene(burnt), card(burnt), NONE_DECLARED),
        colours_of(*scene(light), card(shaded), NONE_DECLARED),
    )
    sound, glaring, unlike = (bloom.error_de00 for bloom, _ in pairs if bloom)
    assert 1 < sound < glaring < unlike
    without, _ = colours_of(*scene(light), estimated_white(), NONE_DECLARED)
    assert without is not None
    assert without.error_de00 > sound


def test_too_few_petals_have_no_colour() -> None:
    photo, bloom, foliage = scene(np.full(3, 0.8))
    found, leaves = colours_of(photo, bloom * 0, foliage, estimated_white(), NONE_DECLARED)
    assert found is None
    assert leaves is not None
    assert leaves.as_dict()["error_de00"] == leaves.error_de00
