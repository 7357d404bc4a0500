"""How far a planting's bloom colour has moved from its own reference date."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from math import atan2, hypot, pi, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skimage.color import deltaE_ciede2000, rgb2lab

from journal_server.analysis.colour_error import axis_sigmas, step_weights, true_distance
from journal_server.analysis.series import Lab, PlantingSeason, SeasonPoint, points_by_day
from journal_server.measurement.result import Estimate

Floats = NDArray[np.float64]

# skimage has no type annotations of its own.
_delta_e_00: Callable[[Floats, Floats], Floats] = deltaE_ciede2000
_rgb_to_lab: Callable[[Floats], Floats] = rgb2lab

#: The reference is the first photo with at least this bloom cover.
REFERENCE_BLOOM_COVER = 0.05

#: Leaves keep their colour better than flowers do. Where a photo's leaves lie this far (CIEDE2000) from the planting's
#: usual leaf colour, its light was not corrected for, and its flowers have moved with them. Chosen on the sample
#: season, where it finds six of the seven photos whose bloom colour is more than 14 from the truth.
LEAVES_MOVED_DE00 = 5.0

LIGHT_DOUBT = "in that light the colour could not be read surely"
LEAVES_DOUBT = "the leaves have another colour too, so it may be the light"
WHITE_DOUBT = "only one of the two dates had the white of a card"


@dataclass(frozen=True)
class ColourDifference:
    """CIEDE2000 and the signed CIELAB parts: lighter, more chroma, turned counter-clockwise are positive."""

    de00: float
    dl: float
    dc: float
    dh: float


@dataclass(frozen=True)
class FadeStep:
    """The bloom colour of one day against the reference day.

    ``doubt`` says why part of the difference may be the light and not the petals; None where nothing speaks for it.
    ``interval`` is the CIEDE2000 difference with its 90 % interval; None where a photo tells no error to expect.
    """

    photo_id: str
    taken_on: date
    bloom_hex: str | None
    difference: ColourDifference
    doubt: str | None = None
    interval: Estimate | None = None


@dataclass(frozen=True)
class Fade:
    """All days with a bloom colour from the reference day on; ``reason`` says why there is none."""

    reference: SeasonPoint | None
    steps: tuple[FadeStep, ...]
    reason: str | None = None

    @property
    def most(self) -> FadeStep | None:
        """The day farthest from the reference, of those without doubt if there are any; None before a second day."""
        later = self.steps[1:]
        return max(later, key=lambda step: (step.doubt is None, step.difference.de00)) if later else None

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "reference_on": self.reference.taken_on.isoformat() if self.reference else None,
            "steps": [
                {
                    "photo": step.photo_id,
                    "on": step.taken_on.isoformat(),
                    "hex": step.bloom_hex,
                    "de00": step.difference.de00,
                    "de00_low": step.interval.low if step.interval else None,
                    "de00_high": step.interval.high if step.interval else None,
                    "dl": step.difference.dl,
                    "dc": step.difference.dc,
                    "dh": step.difference.dh,
                    "doubt": step.doubt,
                }
                for step in self.steps
            ],
            "reason": self.reason,
        }


def colour_difference(reference: Lab, sample: Lab) -> ColourDifference:
    """Difference of ``sample`` from ``reference``, both CIELAB (D65, 2 degree observer).

    References
    ----------
    Sharma, G., Wu, W. and Dalal, E. N. (2005), The CIEDE2000 color-difference formula, Color Research and
    Application 30, 21-30. The signed dH* is ``2 sqrt(C1 C2) sin((h2 - h1) / 2)`` (CIE 15).
    """
    chroma, sample_chroma = hypot(*reference[1:]), hypot(*sample[1:])
    turn = atan2(sample[2], sample[1]) - atan2(reference[2], reference[1])
    turn = (turn + pi) % (2 * pi) - pi
    return ColourDifference(
        de00=float(_delta_e_00(np.array(reference), np.array(sample))),
        dl=sample[0] - reference[0],
        dc=sample_chroma - chroma,
        dh=2 * sqrt(chroma * sample_chroma) * sin(turn / 2),
    )


def reference_point(season: PlantingSeason) -> SeasonPoint | None:
    """The first day with at least 5 % bloom cover and a bloom colour, or None."""
    for point in points_by_day(season):
        cover = point.bloom_cover
        if cover is not None and cover.value >= REFERENCE_BLOOM_COVER and point.bloom_lab is not None:
            return point
    return None


def fade(season: PlantingSeason) -> Fade:
    """The planting's bloom colour day by day against its reference day."""
    reference = reference_point(season)
    if reference is None or reference.bloom_lab is None:
        grown_for_leaves = "this cultivar is grown for its leaves"
        too_little = "no photo yet shows at least 5 % bloom cover with a bloom colour"
        return Fade(None, (), grown_for_leaves if season.foliage_only else too_little)
    leaves = usual_leaf_lab(season)
    return Fade(
        reference,
        tuple(
            FadeStep(
                point.photo_id,
                point.taken_on,
                point.bloom_hex,
                colour_difference(reference.bloom_lab, point.bloom_lab),
                difference_doubt(reference, point, leaves),
                fade_interval(reference, point),
            )
            for point in points_by_day(season)
            if point.bloom_lab is not None and point.taken_on >= reference.taken_on
        ),
    )


def fade_interval(reference: SeasonPoint, point: SeasonPoint) -> Estimate | None:
    """CIEDE2000 of the point's bloom colour to the reference's, with its 90 % interval from the errors to expect.

    The reference day itself differs by nothing. As CIEDE2000 is a distance, errors only ever add to it: see
    `colour_error.true_distance`. None where a colour or its expected error is not known.
    """
    if reference.bloom_lab is None or point.bloom_lab is None:
        return None
    if point.taken_on == reference.taken_on and point.bloom_lab == reference.bloom_lab:
        return Estimate(0.0, 0.0, 0.0)
    if reference.bloom_error_de00 is None or point.bloom_error_de00 is None:
        return None
    measured = colour_difference(reference.bloom_lab, point.bloom_lab)
    parts = (measured.dl, measured.dc, measured.dh)
    weights = step_weights(reference.bloom_lab, point.bloom_lab)
    steps = tuple(part / weight for part, weight in zip(parts, weights, strict=True))
    return true_distance(measured.de00, steps, axis_sigmas(hypot(reference.bloom_error_de00, point.bloom_error_de00)))


def usual_leaf_lab(season: PlantingSeason) -> Lab | None:
    """The median leaf colour over the days, CIELAB (D65, 2 degree observer); None before a third day."""
    codes = [point.foliage_hex for point in points_by_day(season) if point.foliage_hex]
    if len(codes) < 3:
        return None
    lightness, a, b = (float(axis) for axis in np.median(_labs_of(codes), axis=0))
    return (lightness, a, b)


def difference_doubt(reference: SeasonPoint, point: SeasonPoint, leaves: Lab | None) -> str | None:
    """Why the two days' difference may be the light; ``leaves`` is the planting's usual leaf colour."""
    of_either = [doubt for one in (reference, point) if (doubt := colour_doubt(one, leaves))]
    if of_either:
        return of_either[0]
    return None if point.white_reference == reference.white_reference else WHITE_DOUBT


def colour_doubt(point: SeasonPoint, leaves: Lab | None) -> str | None:
    """Why the colours of one day may be the light; None where nothing speaks for it."""
    return colour_doubts([point], leaves)[0]


def colour_doubts(points: Sequence[SeasonPoint], leaves: Lab | None) -> list[str | None]:
    """`colour_doubt` of many days at once."""
    moved = _leaves_moved(points, leaves)
    return [
        LEAVES_DOUBT if point.photo_id in moved else LIGHT_DOUBT if point.colour_doubtful else None for point in points
    ]


def _leaves_moved(points: Sequence[SeasonPoint], leaves: Lab | None) -> set[str]:
    told = [(point.photo_id, point.foliage_hex) for point in points if point.foliage_hex]
    if leaves is None or not told:
        return set()
    labs = _labs_of([code for _, code in told])
    far = _delta_e_00(np.broadcast_to(np.array(leaves), labs.shape), labs) > LEAVES_MOVED_DE00
    return {photo_id for (photo_id, _), is_far in zip(told, far, strict=True) if is_far}


def _labs_of(codes: Sequence[str]) -> Floats:
    """CIELAB (D65, 2 degree observer) of ``#rrggbb`` codes, shape (n, 3)."""
    return _rgb_to_lab(np.array([[int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)] for code in codes]))
