"""The ribbon: one planting's season as a band as high as canopy fill, its top in the colour of bloom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from journal_server.figures.svg import INK, PAPER, UNKNOWN, UNKNOWN_BLOOM, Svg, colour, join, px, tag

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RibbonDay:
    """One measured day: shares of the frame (``fill``) and of the canopy; None where not measured."""

    x_px: float
    fill: float
    bloom: float | None
    spent: float | None
    bloom_hex: str | None
    foliage_hex: str | None

    @property
    def flowers_known(self) -> bool:
        return self.bloom is not None


@dataclass(frozen=True)
class _Edge:
    """A smooth line through the days that never overshoots them, as heights and slopes in pixels."""

    x: Floats
    y: Floats
    slope: Floats

    def path(self, first: int, last: int) -> str:
        """Bezier segments from knot ``first`` to knot ``last``, which may lie before it, as offsets."""
        step = 1 if last > first else -1
        knots = slice(first, None if last + step < 0 else last + step, step)
        x, y, slope = self.x[knots], self.y[knots], self.slope[knots]
        third = np.diff(x) / 3
        near = np.column_stack([x[:-1] + third, y[:-1] + third * slope[:-1]])
        far = np.column_stack([x[1:] - third, y[1:] - third * slope[1:]])
        ends = np.column_stack([x, y])
        begun, near, far, ends = (np.round(part, 1) for part in (ends[:-1], near, far, ends))
        offsets = np.hstack([near - begun, far - begun, ends[1:] - begun])
        segments = "".join(f"c{' '.join(map(px, row))}" for row in offsets.tolist())
        return f"M{px(x[0])} {px(y[0])}{segments}"


def split_runs(days: Sequence[RibbonDay], widest_gap_px: float) -> list[list[RibbonDay]]:
    """Days in stretches that are joined; between stretches nothing was measured for too long."""
    runs: list[list[RibbonDay]] = []
    for day in days:
        if runs and day.x_px - runs[-1][-1].x_px <= widest_gap_px + 1e-6:
            runs[-1].append(day)
        else:
            runs.append([day])
    return runs


def draw_ribbon(
    name: str, days: Sequence[RibbonDay], *, base_px: float, height_px: float, widest_gap_px: float, hatch_id: str
) -> Svg:
    """All stretches of one planting's ribbon, standing on ``base_px``, ``height_px`` high at full canopy."""
    runs = split_runs(days, widest_gap_px)
    return join(*(_draw_run(f"{name}-{i}", run, base_px, height_px, hatch_id) for i, run in enumerate(runs)))


def _draw_run(name: str, run: list[RibbonDay], base: float, height: float, hatch_id: str) -> Svg:
    if len(run) == 1:
        # A lone day gets a slim bar; a line has no width.
        day = run[0]
        run = [_moved(day, -3), _moved(day, 3)]
    leaves, spent, bloom = _edges(run, base, height)
    parts = [
        _gradient(f"{name}-leaf", run, [day.foliage_hex for day in run], UNKNOWN),
        _gradient(f"{name}-bloom", run, [day.bloom_hex for day in run], UNKNOWN_BLOOM),
    ]
    for first, last, known in _pieces(run):
        piece = run[first : last + 1]
        if not known:
            parts.append(_area(bloom, first, last, base, fill=UNKNOWN, fill_opacity=0.45))
            continue
        # Bloom is painted down to the ground and covered by the leaves, so that no seam shows between them.
        if any(day.bloom for day in piece):
            parts.append(_area(bloom, first, last, base, fill=f"url(#{name}-bloom)", class_="fig-bloom"))
        parts.append(_area(spent, first, last, base, fill=f"url(#{name}-leaf)"))
        if any(day.spent for day in piece):
            between = f"{spent.path(first, last)}L{leaves.path(last, first)[1:]}Z"
            parts.append(tag("path", d=between, fill=f"url(#{hatch_id})", class_="fig-spent"))
        if any(day.bloom for day in piece):
            parts.append(tag("path", d=spent.path(first, last), fill="none", stroke=PAPER, stroke_width=1.25))
    outline = bloom.path(0, len(run) - 1)
    parts.append(tag("path", d=outline, fill="none", stroke=INK, stroke_opacity=0.7))
    return tag("g", *parts, class_="fig-ribbon")


def hatch(hatch_id: str) -> Svg:
    """The fine hatch for spent bloom; one a figure."""
    stripe = tag("path", d="M-1 1L1 -1M0 4L4 0M3 5L5 3", stroke=INK, stroke_width=0.9, stroke_opacity=0.75)
    return tag("pattern", stripe, id=hatch_id, width=4, height=4, patternUnits="userSpaceOnUse")


def _moved(day: RibbonDay, by_px: float) -> RibbonDay:
    return RibbonDay(day.x_px + by_px, day.fill, day.bloom, day.spent, day.bloom_hex, day.foliage_hex)


def _edges(run: list[RibbonDay], base: float, height: float) -> tuple[_Edge, _Edge, _Edge]:
    """Upper edges of leaves, of spent bloom and of open bloom, stacked; slopes add as the heights do."""
    x = np.array([day.x_px for day in run])
    fill = np.array([min(max(day.fill, 0.0), 1.0) for day in run])
    bloom = fill * [min(max(day.bloom or 0.0, 0.0), 1.0) for day in run]
    spent = np.minimum(fill * [min(max(day.spent or 0.0, 0.0), 1.0) for day in run], fill - bloom)
    heights = np.array([fill - bloom - spent, spent, bloom])
    slopes = PchipInterpolator(x, heights, axis=1).derivative()(x)
    tops, rises = np.cumsum(heights, axis=0), np.cumsum(slopes, axis=0)
    leaves, spent_edge, bloom_edge = (_Edge(x, base - height * tops[i], -height * rises[i]) for i in range(3))
    return leaves, spent_edge, bloom_edge


def _pieces(run: list[RibbonDay]) -> list[tuple[int, int, bool]]:
    """Stretches (first knot, last knot, flowers known): a stretch is known if both its ends are."""
    pieces: list[tuple[int, int, bool]] = []
    for i in range(len(run) - 1):
        known = run[i].flowers_known and run[i + 1].flowers_known
        if pieces and pieces[-1][2] == known:
            pieces[-1] = (pieces[-1][0], i + 1, known)
        else:
            pieces.append((i, i + 1, known))
    return pieces


def _area(edge: _Edge, first: int, last: int, base: float, **attributes: str | float | None) -> Svg:
    """From the edge down to the ground."""
    return tag("path", d=f"{edge.path(first, last)}V{px(base)}H{px(edge.x[first])}Z", **attributes)


def _gradient(name: str, run: list[RibbonDay], codes: Sequence[str | None], unknown: str) -> Svg:
    """Each day's measured colour at its place; between two days the colours blend."""
    left, right = run[0].x_px, run[-1].x_px
    known = [(day.x_px, code) for day, code in zip(run, map(colour, codes), strict=True) if code]
    stops = [
        tag("stop", offset=f"{(x - left) / (right - left):.3f}", stop_color=code)
        for x, code in known or [(left, unknown)]
    ]
    return tag("linearGradient", *stops, id=name, gradientUnits="userSpaceOnUse", x1=left, x2=right, y1=0, y2=0)
