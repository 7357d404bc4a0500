"""One planting's row of the timeline: names, numbers, ribbon, and what a tap opens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Protocol

from journal_server.analysis.fade import colour_doubts, usual_leaf_lab
from journal_server.analysis.series import PlantingSeason, SeasonPoint, points_by_day
from journal_server.figures.lanes import LaneSpace
from journal_server.figures.ribbon import RibbonDay, draw_ribbon
from journal_server.figures.season_axis import SeasonScale
from journal_server.figures.svg import (
    INK,
    MUTED,
    PAPER,
    SMALL_PX,
    TEXT_PX,
    Svg,
    haloed,
    line,
    px,
    shorten,
    tag,
    text,
    text_width,
)
from journal_server.figures.words import per_cent, season_name, short_point_words

LEAST_TAP_PX = 24


@dataclass(frozen=True)
class TimelineLayout:
    """Where things go: names beside the ribbons (``space.beside``) or above them."""

    scale: SeasonScale
    space: LaneSpace
    width: float
    label_px: float
    ribbon_px: float
    row_px: float


class RowDrawer(Protocol):
    """What draws a row as `draw_row` does."""

    def __call__(
        self,
        name: str,
        row: PlantingSeason,
        layout: TimelineLayout,
        top: float,
        *,
        gap_days: int,
        hatch_id: str,
        also: str | None,
    ) -> Svg: ...


def draw_row(
    name: str,
    row: PlantingSeason,
    layout: TimelineLayout,
    top: float,
    *,
    gap_days: int,
    hatch_id: str,
    also: str | None,
) -> Svg:
    """The row's names and numbers (``also`` is one more), its ribbon, and a tap target for each measured day."""
    scale = layout.scale
    base = top + layout.label_px + layout.ribbon_px
    points = [p for p in points_by_day(row) if p.canopy_fill is not None and scale.holds(p.taken_on)]
    ribbon = draw_ribbon(
        name,
        [_ribbon_day(row, point, scale) for point in _without_doubtful_colours(row, points)],
        base_px=base,
        height_px=layout.ribbon_px,
        widest_gap_px=gap_days * scale.px_per_day,
        hatch_id=hatch_id,
    )
    from_x, to_x = (
        scale.x(min(max(day, scale.first), scale.last)) for day in (row.planted_on, row.removed_on or scale.last)
    )
    full = base - layout.ribbon_px
    return tag(
        "g",
        _label(row, points, layout, top, also),
        line(from_x, full, to_x, full, opacity=0.3, stroke_dasharray="1 3"),
        ribbon,
        line(from_x, base, to_x, base, opacity=0.75),
        _ticks(points, layout, base),
        _intervals(points, layout, base),
        _taps(row, points, layout, top, base),
        class_="fig-row",
        data_planting=row.planting_id,
    )


def flowers_missing(row: PlantingSeason) -> bool:
    """Whether some day of the row has canopy fill but no bloom cover, so that grey stands for its flowers."""
    return not row.foliage_only and any(p.canopy_fill and p.bloom_cover is None for p in row.points)


def _without_doubtful_colours(row: PlantingSeason, points: Sequence[SeasonPoint]) -> list[SeasonPoint]:
    """Days whose colours may be the light take the colours around them, where there is a sure day to take them from."""
    doubts = colour_doubts(points, usual_leaf_lab(row))
    sure = [point for point, doubt in zip(points, doubts, strict=True) if doubt is None]
    bloom_known, leaves_known = any(p.bloom_hex for p in sure), any(p.foliage_hex for p in sure)
    return [
        point
        if doubt is None
        else replace(
            point,
            bloom_hex=None if bloom_known else point.bloom_hex,
            foliage_hex=None if leaves_known else point.foliage_hex,
        )
        for point, doubt in zip(points, doubts, strict=True)
    ]


def _ribbon_day(row: PlantingSeason, point: SeasonPoint, scale: SeasonScale) -> RibbonDay:
    fill, bloom, spent = point.canopy_fill, point.bloom_cover, point.spent_share
    return RibbonDay(
        x_px=scale.x(point.taken_on),
        fill=fill.value if fill else 0.0,
        bloom=0.0 if row.foliage_only else bloom.value if bloom else None,
        spent=spent.value if spent and not row.foliage_only else None,
        bloom_hex=point.bloom_hex,
        foliage_hex=point.foliage_hex,
    )


def _label(
    row: PlantingSeason, points: Sequence[SeasonPoint], layout: TimelineLayout, top: float, also: str | None
) -> Svg:
    last = points[-1] if points else None
    numbers = []
    if last and last.canopy_fill:
        numbers.append(f"fill {per_cent(last.canopy_fill.value)}")
    if last and last.bloom_cover and not row.foliage_only:
        numbers.append(f"bloom {per_cent(last.bloom_cover.value)}")
    if also:
        # Above a narrow ribbon there is room for one of them.
        numbers = [*numbers, also] if layout.space.beside else [also]
    named = tag("title", ", ".join(part for part in (season_name(row), row.place) if part))
    write = _label_beside if layout.space.beside else _label_above
    return tag("g", named, *write(row, numbers or ["no photo yet"], layout, top), class_="fig-name")


def _label_beside(row: PlantingSeason, numbers: Sequence[str], layout: TimelineLayout, top: float) -> list[Svg]:
    left, room = layout.space.words_left_px, layout.space.words_px - 20
    right = layout.scale.right_px + 12
    cultivar = shorten(f"‘{row.cultivar}’", TEXT_PX, room, bold=True)
    return [
        text(left, top + 29, shorten(row.genus, SMALL_PX, room), opacity=MUTED),
        text(left, top + 45, cultivar, size=TEXT_PX, font_weight=600),
        text(left, top + 61, shorten(row.place, SMALL_PX, layout.width / 4), opacity=MUTED),
        *(text(right, top + 46 + 15 * i, words) for i, words in enumerate(numbers)),
    ]


def _label_above(row: PlantingSeason, numbers: Sequence[str], layout: TimelineLayout, top: float) -> list[Svg]:
    """Names and numbers on one line, the genus where it fits; the place, which tells rows apart, there or below."""
    left, words = layout.space.words_left_px, ", ".join(numbers)
    room = layout.width - 2 * left - text_width(words, SMALL_PX) - 10
    cultivar = shorten(f"‘{row.cultivar}’", TEXT_PX, room, bold=True)
    rest = room - text_width(cultivar, TEXT_PX, bold=True) - 6
    place = _fits(row.place and f" · {row.place}", rest)
    genus = _fits(row.genus and f"{row.genus} ", rest - text_width(place, SMALL_PX))
    bold = tag("tspan", cultivar, font_weight=600, font_size=TEXT_PX)
    before, after = (words and tag("tspan", words, font_size=SMALL_PX, fill_opacity=MUTED) for words in (genus, place))
    halo = {"stroke": PAPER, "paint_order": "stroke"}
    return [
        tag("text", before, bold, after, x=left, y=top + 14, fill=INK, stroke_width=3, **halo),
        haloed(layout.width - left, top + 14, words, text_anchor="end"),
        *([] if place else [haloed(left, top + 33, shorten(row.place, SMALL_PX, layout.width / 4), opacity=MUTED)]),
    ]


def _fits(words: str, room_px: float) -> str:
    return words if text_width(words, SMALL_PX) <= room_px else ""


def _taps(row: PlantingSeason, points: Sequence[SeasonPoint], layout: TimelineLayout, top: float, base: float) -> Svg:
    """A transparent target for each day, reaching halfway to its neighbours."""
    xs = [layout.scale.x(point.taken_on) for point in points]
    middles = [(x + after) / 2 for x, after in pairwise(xs)]
    lefts = [xs[0] - LEAST_TAP_PX, *middles] if xs else []
    rights = [*middles, xs[-1] + LEAST_TAP_PX] if xs else []
    taps = [
        tag(
            "rect",
            tag("title", short_point_words(row, point)),
            x=left,
            y=top,
            width=right - left,
            height=base - top + 8,
            class_="fig-date",
            data_photo=point.photo_id,
            data_date=point.taken_on.isoformat(),
        )
        for point, left, right in zip(points, lefts, rights, strict=True)
    ]
    return tag("g", *taps, fill="transparent")


def _ticks(points: Sequence[SeasonPoint], layout: TimelineLayout, base: float) -> Svg | None:
    """A tick under each measured day."""
    ticks = "".join(f"M{px(layout.scale.x(point.taken_on))} {px(base)}v4" for point in points)
    return tag("path", d=ticks, stroke=INK, stroke_opacity=0.75) if ticks else None


def _intervals(points: Sequence[SeasonPoint], layout: TimelineLayout, base: float) -> Svg | None:
    """The interval of canopy fill on each day; not seen until a stylesheet gives ``fig-interval`` opacity."""
    path = ""
    for point in points:
        if point.canopy_fill is not None:
            x = layout.scale.x(point.taken_on)
            low, high = (
                base - layout.ribbon_px * min(max(bound, 0.0), 1.0)
                for bound in (point.canopy_fill.low, point.canopy_fill.high)
            )
            path += f"M{px(x - 3)} {px(low)}h6M{px(x - 3)} {px(high)}h6M{px(x)} {px(low)}V{px(high)}"
    return tag("path", d=path, stroke=INK, fill="none", class_="fig-interval", opacity=0) if path else None
