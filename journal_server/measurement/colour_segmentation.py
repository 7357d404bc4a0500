"""Telling bloom, leaf and background apart by colour alone: the fallback where the learned method cannot run.

Each pixel is compared in CIELAB with the declared (or usual) colours of leaves and blooms, and with what
lies along the photo's margin, which is mostly not the planting.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from PIL import Image
from scipy import ndimage

from journal_server.measurement.colour import srgb_to_lab

METHOD = "colour 1"
CLASSES = ("background", "foliage", "bloom", "spent", "planter", "card")
WORKING_PIXELS = 300_000

Floats = npt.NDArray[np.float32]

# CIELAB of usual leaves from dark to chartreuse, and of shrivelled petals (common practice, no source).
_LEAVES = np.array([[20, -8, 10], [35, -18, 22], [48, -24, 32], [60, -26, 42], [70, -20, 52]], np.float32)
_SPENT = np.array([[38, 10, 22], [52, 9, 24], [62, 6, 22]], np.float32)

# Shade and sun change lightness far more than hue, so it counts for less.
_LIGHTNESS_WEIGHT = 0.45
_SPREAD = 13.0
_MARGIN = 0.10
_BINS = (16, 24, 24)


def segment(srgb: npt.NDArray[np.uint8], bloom_lab: npt.ArrayLike, foliage_lab: npt.ArrayLike) -> Floats:
    """Class probabilities from colour alone.

    Parameters
    ----------
    srgb : uint8 (H, W, 3), as displayed
    bloom_lab, foliage_lab : declared colours in CIELAB, (n, 3); empty where none are declared

    Returns
    -------
    float32 (h, w, 6)
        In the order of ``CLASSES``; the planter is counted as background and the card is not told apart.
    """
    small = _shrunk(srgb)
    lab = ndimage.uniform_filter(srgb_to_lab(small), (3, 3, 1))
    bloom_colours = np.asarray(bloom_lab, np.float32).reshape(-1, 3)
    foliage_colours = np.asarray(foliage_lab, np.float32).reshape(-1, 3)
    leaf = _likeness(lab, _with_shade(foliage_colours) if len(foliage_colours) else _LEAVES)
    bloom = _likeness(lab, bloom_colours) if len(bloom_colours) else _bloom_without_names(lab)
    spent = 0.25 * _likeness(lab, _SPENT) if len(bloom_colours) else 0.15 * _likeness(lab, _SPENT)
    background = 0.12 + 0.9 * _margin_likeness(lab)
    zero = np.zeros_like(leaf)
    stacked = np.stack([background, leaf, 1.2 * bloom, spent, zero, zero], axis=-1)
    return np.asarray((stacked / stacked.sum(axis=-1, keepdims=True)), np.float32)


def _shrunk(srgb: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    height, width = srgb.shape[:2]
    scale = min(1.0, (WORKING_PIXELS / (height * width)) ** 0.5)
    size = max(1, round(width * scale)), max(1, round(height * scale))
    return np.asarray(Image.fromarray(srgb).resize(size, Image.Resampling.BOX))


def _with_shade(colours: Floats) -> Floats:
    return np.concatenate([colours, colours * np.float32(0.6)])


def _likeness(lab: Floats, colours: Floats) -> Floats:
    weights = np.array([_LIGHTNESS_WEIGHT, 1, 1], np.float32)
    flat = (lab * weights).reshape(-1, 3)
    nearest = np.full(len(flat), np.inf, np.float32)
    for colour in colours * weights:
        nearest = np.minimum(nearest, ((flat - colour) ** 2).sum(axis=1))
    return np.asarray(np.exp(-nearest / np.float32(2 * _SPREAD**2)).reshape(lab.shape[:2]))


def _bloom_without_names(lab: Floats) -> Floats:
    """How strongly a colour stands out from leaves: vivid and not green, or bright and without hue."""
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360
    green = np.clip(1 - np.abs(hue - 125) / 45, 0, 1)
    vivid = _rising(chroma, 38, 8) * (1 - green)
    white = _rising(lab[..., 0], 82, 4) * _rising(-chroma, -14, 4)
    return np.asarray(np.maximum(vivid, 0.6 * white), np.float32)


def _rising(values: Floats, middle: float, width: float) -> Floats:
    return np.asarray((1 / (1 + np.exp(-(values - middle) / width))), np.float32)


def _margin_likeness(lab: Floats) -> Floats:
    """How common each colour is along the margin against the middle, in [0, 1]."""
    height, width = lab.shape[:2]
    rim_y, rim_x = max(1, int(height * _MARGIN)), max(1, int(width * _MARGIN))
    margin = np.ones((height, width), bool)
    margin[rim_y:-rim_y, rim_x:-rim_x] = False
    scaled = (lab + np.array([0, 100, 100])) / np.array([100, 200, 200]) * _BINS
    index = np.ravel_multi_index(tuple(np.clip(scaled.astype(int), 0, np.array(_BINS) - 1).reshape(-1, 3).T), _BINS)
    flags = margin.ravel()
    count = int(np.prod(_BINS))
    counts = (np.bincount(index[flags], minlength=count), np.bincount(index[~flags], minlength=count))
    smooth = [ndimage.gaussian_filter(c.reshape(_BINS).astype(np.float32), 0.7) for c in counts]
    shares = [s / max(s.sum(), 1) for s in smooth]
    ratio = (shares[0] + 1e-5) / (shares[0] + shares[1] + 2e-5)
    return np.asarray(ratio.ravel()[index].reshape(height, width), np.float32)
