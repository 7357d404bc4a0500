"""The colour of petals and leaves as reflectance: corrected to white, to the light on them, and to their shine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from journal_server.measurement.colour import SRGB_TO_XYZ, delta_e_00, lab_to_hex, lab_to_linear, linear_to_lab
from journal_server.measurement.result import BloomColour
from journal_server.measurement.white import White

Array = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float32]

LEAST_PIXELS = 30.0
_SURE = 0.6
_MOST_SAMPLES = 6_000
_SAMPLES_OF_SPREAD = 1_500
# Deep shade between the petals and glare upon them are left out.
_LIT_BETWEEN = (0.25, 0.85)
_DIM_AND_BRIGHT = (0.25, 0.9)
_LUMINANCE_OF = 0.625
_BURNT_OUT = 254
_LUMINANCE = SRGB_TO_XYZ[1]
# Luminance of usual leaves (mean of the logarithm over the made scenes' foliage), and the darkest believed.
_USUAL_LEAVES = 0.176
_DARKEST_LEAVES = 0.01
# The leaves' lightness, as a logarithm against what they are expected to be, is believed no further than this.
_FARTHEST_BELIEVED = 2.0
# Leaves cast a little of their light on petals.
_LEAF_LIGHT_ON_PETALS = 0.015
_LEAST_REFLECTANCE = 0.003
_LEAST_LUMINANCE = 1e-4


@dataclass(frozen=True)
class _Lighting:
    """How what is lit in the scene relates to the white; all fitted on made scenes with known reflectance.

    ``follow`` says how far the leaves are believed about the light: 0 not at all, 1 as if their lightness were
    known. ``leaves_seem`` is the usual logarithm of how light the leaves seem against what they are.
    """

    follow: float
    leaf_follow: float
    petal_gain: float
    leaf_gain: float
    leaves_seem: float


_LIGHTING = {
    "card": _Lighting(follow=0.55, leaf_follow=0.5, petal_gain=0.0, leaf_gain=0.32, leaves_seem=-0.34),
    "estimated": _Lighting(follow=0.76, leaf_follow=0.5, petal_gain=-0.15, leaf_gain=0.2, leaves_seem=-0.09),
}
# Shine pales petals and leaves; their chroma is raised as a power of the colour's ratio to grey.
_PETALS_PALED = 1.09
_LEAVES_PALED = 1.25
# Mean CIEDE2000 to the true reflectance, fitted on made scenes: for a card in the shade (as a logarithm), for
# uneven light on the petals, for burnt-out petals; nine in ten errors are below 1.9 times what this says.
_ERROR_OF_PARTS_DE00 = np.array([5.8, 3.5, 4.7])
_LEAST_ERROR_DE00 = 2.5
_BLOOM_ERROR_WITHOUT_CARD_DE00 = 6.5
_FOLIAGE_ERROR_DE00 = {"card": 5.0, "estimated": 6.6}


@dataclass(frozen=True)
class _Seen:
    """``samples`` (n, 3) are reflectances as if lit like the white; ``middle`` (3,) is the middle of the well lit.

    ``luminance`` is what five of eight samples do not exceed, ``unevenness`` how far the bright samples are from
    the dim (difference of logarithms), ``burnt`` the share with a level that is burnt out.
    """

    samples: Array
    middle: Array
    luminance: float
    unevenness: float
    burnt: float


def colours_of(
    srgb: Bytes, bloom: Floats, foliage: Floats, white: White, foliage_lab: Floats
) -> tuple[BloomColour | None, BloomColour | None]:
    """Colour of the open bloom and of the foliage; None where too few pixels are sure.

    Petals and card are seldom lit alike. Leaves stand in the petals' light, and their lightness varies less than
    the light does, so that they tell in part how it differs. Hue is never taken from them.

    Parameters
    ----------
    srgb : uint8 (h, w, 3)
    bloom, foliage : float32 (h, w), probability of the class times share in the frame
    white : how levels in the photo become reflectance
    foliage_lab : float32 (n, 3), declared foliage colours, may be empty; they count half
    """
    lighting = _LIGHTING[white.source]
    petals, leaves = _seen(srgb, bloom, white), _seen(srgb, foliage, white)
    excess = lighting.leaves_seem
    if leaves is not None:
        seem = np.log(max(leaves.luminance, _LEAST_REFLECTANCE) / _expected_leaves(foliage_lab))
        excess = float(np.clip(seem, -_FARTHEST_BELIEVED, _FARTHEST_BELIEVED))
    of_bloom = of_foliage = None
    if petals is not None:
        lit = petals.middle * np.exp(lighting.petal_gain - lighting.follow * excess)
        if leaves is not None:
            lit = lit - _LEAF_LIGHT_ON_PETALS * leaves.middle / max(leaves.luminance, _LEAST_REFLECTANCE)
        of_bloom = _colour(petals, _unpaled(lit, _PETALS_PALED), _bloom_error(petals, white, excess))
    if leaves is not None:
        lit = leaves.middle * np.exp(lighting.leaf_gain - lighting.leaf_follow * excess)
        of_foliage = _colour(leaves, _unpaled(lit, _LEAVES_PALED), _FOLIAGE_ERROR_DE00[white.source])
    return of_bloom, of_foliage


def _bloom_error(petals: _Seen, white: White, excess: float) -> float:
    """CIEDE2000 to expect: the more unlike the light on card and plants, and on the petals, the larger."""
    if white.source != "card":
        return _BLOOM_ERROR_WITHOUT_CARD_DE00
    card_in_shade = max(excess - _LIGHTING["card"].leaves_seem, 0)
    parts = np.array([card_in_shade, petals.unevenness, petals.burnt])
    return max(_LEAST_ERROR_DE00, float(parts @ _ERROR_OF_PARTS_DE00))


def _seen(srgb: Bytes, weights: Floats, white: White) -> _Seen | None:
    sure = np.flatnonzero(weights > _SURE)
    if float(weights.ravel()[sure].sum()) < LEAST_PIXELS:
        return None
    levels = srgb.reshape(-1, 3)[sure[:: max(1, len(sure) // _MOST_SAMPLES)]]
    samples = white.reflectance(levels)
    luminance = np.maximum(samples @ _LUMINANCE, _LEAST_LUMINANCE)
    dim, bright = np.quantile(luminance, _DIM_AND_BRIGHT)
    low, high = np.quantile(luminance, _LIT_BETWEEN)
    # Medians, since levels burnt out in one channel would bend the hue of a mean.
    middle = np.median(samples[(luminance >= low) & (luminance <= high)], axis=0)
    return _Seen(
        samples,
        middle,
        luminance=float(np.quantile(luminance, _LUMINANCE_OF)),
        unevenness=float(np.log(bright / dim)),
        burnt=float((levels >= _BURNT_OUT).any(axis=1).mean()),
    )


def _expected_leaves(foliage_lab: Floats) -> float:
    if not len(foliage_lab):
        return _USUAL_LEAVES
    declared = np.maximum(lab_to_linear(foliage_lab) @ _LUMINANCE, _DARKEST_LEAVES)
    return float(np.sqrt(_USUAL_LEAVES * np.exp(np.log(declared).mean())))


def _unpaled(lit: Array, power: float) -> Array:
    safe = np.maximum(lit, _LEAST_REFLECTANCE)
    luminance = safe @ _LUMINANCE
    return np.asarray(np.clip(luminance * (safe / luminance) ** power, 0, 1))


def _colour(seen: _Seen, reflectance: Array, error_de00: float) -> BloomColour:
    some = seen.samples[:: max(1, len(seen.samples) // _SAMPLES_OF_SPREAD)]
    lab = linear_to_lab(np.clip(some, 0, 1)).astype(np.float64)
    spread = float(np.median(delta_e_00(lab, np.broadcast_to(np.median(lab, axis=0), lab.shape))))
    mean = linear_to_lab(reflectance)
    return BloomColour((float(mean[0]), float(mean[1]), float(mean[2])), lab_to_hex(mean), spread, error_de00)
