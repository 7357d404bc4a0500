"""Tables of colour errors over scenes with exact truth: against the reflectance, and as fade between two dates."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from journal_server.measurement.benchmark.residuals import Row
from journal_server.measurement.colour import delta_e_00

Array = npt.NDArray[np.float64]

# With less in flower than this no fade is told.
_LEAST_BLOOM_COVER = 0.05


def colour_table(rows: list[Row]) -> list[str]:
    """CIEDE2000 between measured and true colour, by where white is from, and beside it the error foretold."""
    lines = ["Colour, CIEDE2000 to the true reflectance: median (90th percentile), mean, mean foretold"]
    for kind, truth_name in (("bloom", "bloom_lab_d65_in_frame"), ("foliage", "foliage_lab_d65")):
        for source in ("card", "estimated"):
            found = []
            for row in _framed(rows):
                measurement, truth = row.drawn.measurement, row.scene.truth.get(truth_name)
                colour = getattr(measurement, f"{kind}_colour")
                if colour and truth and measurement.white_reference == source:
                    found.append((_apart(colour.lab, truth), colour.error_de00))
            if found:
                errors, foretold = np.array(found).T
                lines.append(
                    f"  {kind:<8} white {source:<10}{np.median(errors):5.1f} ({np.percentile(errors, 90):.1f}), "
                    f"{errors.mean():.1f}, {foretold.mean():.1f}; {len(errors)} photos"
                )
    return lines


def fade_table(rows: list[Row]) -> list[str]:
    """How far the CIEDE2000 difference between two dates of a planting, both with card, is from the true one."""
    dates: dict[str, list[tuple[str, Array, Array]]] = {}
    for row in _framed(rows):
        measurement, truth = row.drawn.measurement, row.scene.truth
        enough = truth["frame"]["bloom_cover"] >= _LEAST_BLOOM_COVER
        if measurement.bloom_colour and enough and measurement.white_reference == "card":
            lab = np.array(measurement.bloom_colour.lab), np.array(truth["bloom_lab_d65_in_frame"])
            dates.setdefault(truth["planting"], []).append((truth["date"], *lab))
    errors = [
        abs(_apart(first[1], second[1]) - _apart(first[2], second[2]))
        for of_planting in dates.values()
        for first, second in combinations(sorted(of_planting, key=lambda known: known[0]), 2)
    ]
    if not errors:
        return ["Fade: no planting was photographed on two dates with card and flowers"]
    return [
        "Fade between two dates with card: error in CIEDE2000, median (90th percentile)",
        f"  {np.median(errors):.1f} ({np.percentile(errors, 90):.1f}), {len(errors)} pairs of dates",
    ]


def _framed(rows: list[Row]) -> list[Row]:
    return [row for row in rows if (row.told, row.framed) == (True, True)]


def _apart(first: npt.ArrayLike, second: npt.ArrayLike) -> float:
    return float(delta_e_00(np.asarray(first), np.asarray(second)))
