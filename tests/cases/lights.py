"""Cases of light: against the sun, at dusk, half in shadow."""

from __future__ import annotations

import numpy as np
from cases.paint import LUMINANCE, noise, smooth, soft
from cases.sources import BLOOM, CARD, FOLIAGE, PLANTER, SPENT, Picture
from scipy.ndimage import binary_erosion, gaussian_filter


def backlight(picture: Picture, rng: np.random.Generator) -> None:
    """The plant dark before a bright ground, leaves aglow at its outline, a veil of stray light over all."""
    plant = soft(picture.mask(FOLIAGE, BLOOM, SPENT, PLANTER, CARD), 1.0)[..., None]
    solid = picture.mask(FOLIAGE, BLOOM, SPENT)
    rim = gaussian_filter((solid & ~binary_erosion(solid, iterations=4)).astype(np.float32), 1.2)[..., None]
    dark, bright = rng.uniform(0.2, 0.38), rng.uniform(1.6, 2.6)
    through = picture.light * rng.uniform(0.4, 1.0) * np.array([1.1, 1.05, 0.7]) * rim
    picture.light = (picture.light * (dark * plant + bright * (1 - plant)) + through * plant).astype(np.float32)
    seen = np.minimum(picture.light, 1.3)
    veil = np.stack([smooth(seen[..., i], 60) for i in range(3)], axis=-1)
    picture.light = (0.88 * picture.light + 0.10 * veil + 0.02 * picture.white).astype(np.float32)


def dusk(picture: Picture, rng: np.random.Generator) -> None:
    """Little light and blue, partly made up for by the camera, with its grain."""
    sky = smooth(picture.light @ LUMINANCE, 40)
    even = picture.light * (0.5 + 0.5 * np.median(sky) / (sky + 0.02))[..., None]
    picture.light = (even * rng.uniform(0.16, 0.3) * np.array([0.72, 0.9, 1.35])).astype(np.float32)
    grain = rng.standard_normal(picture.light.shape).astype(np.float32)
    coarse = np.stack([gaussian_filter(grain[..., i], 0.8) for i in range(3)], axis=-1)
    picture.light += 0.05 * np.sqrt(np.maximum(picture.light, 0.002)) * coarse


def half_shadow(picture: Picture, rng: np.random.Generator) -> None:
    """The shadow of a roof or a trunk across the planting, blue and seven to nine tenths darker."""
    down, right = np.indices(picture.shape, np.float32)
    middle = picture.frame.mean(axis=0) + rng.normal(0, 40, 2)
    turn = rng.uniform(0, 2 * np.pi)
    edge = (right - middle[0]) * np.cos(turn) + (down - middle[1]) * np.sin(turn)
    edge += 7 * noise(rng, picture.shape, 90, 3)
    share = (1 / (1 + np.exp(-edge / rng.uniform(1.5, 6))))[..., None]
    depth = rng.uniform(0.12, 0.3) * np.array([0.85, 0.97, 1.25])
    picture.light = (picture.light * rng.uniform(1.1, 1.35) * (1 - share * (1 - depth))).astype(np.float32)
