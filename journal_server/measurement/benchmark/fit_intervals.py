"""Fit the constants of the 90 % intervals to the errors seen: ``python -m ...fit_intervals OUT.json FOLDER...``.

With ``--learned`` first, only those of the learned method are fitted, and the others in OUT.json are kept.

For each quantity the logarithm of the half-width is a weighted sum of the circumstances (intervals.terms), fitted by
quantile regression (Koenker and Bassett 1978) at 0.9 with a ridge towards no effect, then multiplied so that, with
every scene predicted from the others (leave one tenth of the scenes out), nine in ten errors lie inside: split
conformal prediction by normalised residuals (Lei et al. 2018).
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import optimize

from journal_server.measurement.benchmark.residuals import measured
from journal_server.measurement.benchmark.scenes import scenes_in
from journal_server.measurement.intervals import Circumstances, terms

Array = npt.NDArray[np.float64]

COVERAGE = 0.90
RIDGE = 0.02
SOFTNESS = 0.15
FOLDS = 10
QUANTITIES = ("canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share", "evenness")
# Below this the pixels' own coarseness would be finer than the truth.
LEAST = {"canopy_fill": 0.006, "bloom_cover": 0.006, "flower_to_leaf": 0.008, "spent_share": 0.005, "evenness": 0.02}
# Widened for kinds of planter, flower, wall and light that the network never saw.
UNSEEN_KINDS = {"canopy_fill": 1.05, "bloom_cover": 1.1, "flower_to_leaf": 1.05, "spent_share": 1.05, "evenness": 1.0}
# With neither card nor frame a photo may be of anything: the spread added in quadrature, so that the intervals meet
# the point counts of nine real photographs of other plants in nine of ten cases.
ELSEWHERE = {"canopy_fill": 0.19, "bloom_cover": 0.06, "flower_to_leaf": 0.06, "spent_share": 0.03, "evenness": 0.15}
# Terms that may only widen the interval when they grow.
_WIDENING = ("doubt", "undeclared", "no_card", "unframed", "green_around", "unsharp", "clipped", "light_ratio", "small")


def fit_quantity(residuals: list[dict[str, Any]], quantity: str) -> dict[str, Any]:
    """Constants for one quantity, with the coverage and width reached on scenes left out."""
    rows = [r for r in residuals if quantity in r["pairs"]]
    seen = [Circumstances(**r["circumstances"]) for r in rows]
    value = np.array([r["pairs"][quantity][0] for r in rows])
    error = np.abs(value - [r["pairs"][quantity][1] for r in rows])
    names = list(terms(quantity, float(value[0]), seen[0]))
    design = np.array([list(terms(quantity, float(v), s).values()) for v, s in zip(value, seen, strict=True)])
    scenes = sorted({r["scene"] for r in rows})
    fold = np.array([scenes.index(r["scene"]) % FOLDS for r in rows])
    left_out = np.empty(len(rows))
    for part in range(FOLDS):
        left_out[fold == part] = np.exp(design[fold == part] @ _fit(design[fold != part], error[fold != part], names))
    ratio = error / np.maximum(left_out, LEAST[quantity])
    folder = np.array([r["folder"] for r in rows])
    # Each folder speaks once, however many photos of few plantings it holds.
    quantiles = [np.quantile(ratio[folder == f], COVERAGE) for f in sorted(set(folder))]
    factor = float(np.mean(quantiles)) * UNSEEN_KINDS[quantity]
    weights = _fit(design, error, names)
    weights[0] += np.log(factor)
    half = np.maximum(factor * left_out, LEAST[quantity])
    return {
        "elsewhere": ELSEWHERE[quantity],
        "least": LEAST[quantity],
        "most": 0.6 if quantity != "flower_to_leaf" else 3.0,
        "weights": {name: round(float(w), 4) for name, w in zip(names, weights, strict=True)},
        "left_out": {
            "photos": len(rows),
            "coverage": round(float((error <= half).mean()), 3),
            "median_width": round(float(np.median(2 * half)), 4),
        },
    }


def _fit(design: Array, error: Array, names: list[str]) -> Array:
    """Weights that minimise the pinball loss of log |error|, smoothed, with a ridge on all but the constant."""
    target = np.log(error + 0.002)
    spread = np.maximum(design.std(axis=0), 1e-9)
    spread[0] = 1.0
    scaled = design / spread
    ridge = np.where(np.arange(len(names)) == 0, 0.0, RIDGE)
    bounds = [(0.0 if name in _WIDENING else -np.inf, np.inf) for name in names]

    def loss(weights: Array) -> tuple[float, Array]:
        gap = target - scaled @ weights
        soft = SOFTNESS * np.logaddexp(0, gap / SOFTNESS)
        rise = 1 / (1 + np.exp(-gap / SOFTNESS)) - (1 - COVERAGE)
        value = float((soft - (1 - COVERAGE) * gap).mean() + (ridge * weights**2).sum())
        return value, np.asarray(-(scaled.T @ rise) / len(gap) + 2 * ridge * weights)

    start = np.zeros(len(names))
    start[0] = np.quantile(target, COVERAGE)
    found = optimize.minimize(loss, start, jac=True, method="L-BFGS-B", bounds=bounds)
    return np.asarray(found.x / spread)


def main(arguments: list[str]) -> int:
    only_learned = arguments[:1] == ["--learned"]
    arguments = arguments[1:] if only_learned else arguments
    if len(arguments) < 2:
        print(__doc__)
        return 2
    out, folders = Path(arguments[0]), [Path(a) for a in arguments[1:]]
    scenes = [scene for folder in folders for scene in scenes_in(folder)]
    methods: dict[str, Any] = json.loads(out.read_text("utf-8"))["methods"] if only_learned else {}
    for asked in (None,) if only_learned else (None, "colour"):
        rows = measured(scenes, method=asked)
        name = rows[0].drawn.segmented_by
        residuals = [row.as_residuals() for row in rows]
        methods[name] = {quantity: fit_quantity(residuals, quantity) for quantity in QUANTITIES}
    how = f"benchmark/fit_intervals.py on {len(scenes)} scenes, with and without declared colours and frame"
    out.write_text(json.dumps({"how": how, "methods": methods}, indent=1) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
