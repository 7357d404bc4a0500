"""Groups in order, each with its value and its 90 % interval on one scale, and its rank at the left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from journal_server.analysis.comparison import QUANTITIES, Comparison
from journal_server.analysis.ranking import Rank
from journal_server.figures.svg import (
    INK,
    MUTED,
    SMALL_PX,
    TEXT_PX,
    Svg,
    document,
    join,
    line,
    shorten,
    tag,
    text,
    text_width,
    wrap,
)
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import days_words, estimate_words, signed, weeks_words
from journal_server.measurement.result import Estimate

MOST_NAMES = 8

_TOP_PX, _ROW_PX, _RANK_PX, _SIDE_PX = 26.0, 44.0, 40.0, 12.0


def draw_ranking(
    comparison: Comparison,
    labels: Mapping[str, str],
    *,
    title: str,
    standard: str | None = None,
    width_px: int = 390,
) -> str:
    """SVG text; each row is a group ``fig-rank`` with data-group. ``labels`` are the names of the keys."""
    left, right = _SIDE_PX + _RANK_PX, width_px - _SIDE_PX
    top = _round_top(comparison)
    rows = [
        _row(rank, labels[rank.contender.key], at, left, right, top, comparison.of, standard)
        for at, rank in enumerate(comparison.ranks)
    ]
    base = _TOP_PX + _ROW_PX * len(rows)
    words = " ".join(["Lines show 90 % intervals.", *_tied_words(comparison), *comparison.sentences])
    lines = wrap(words, SMALL_PX, width_px - 2 * _SIDE_PX)
    body = [
        text(_SIDE_PX, 14, "rank", opacity=MUTED),
        _ends(comparison.of, left, right, top),
        _standard_line(comparison, standard, left, right, top, base),
        *rows,
        *(text(_SIDE_PX, base + 20 + 16 * i, one) for i, one in enumerate(lines)),
    ]
    return document("ranking", width_px, base + 14 + 16 * len(lines), title, words, *body)


def ranking_table(
    comparison: Comparison, labels: Mapping[str, str], *, title: str, standard: str | None = None
) -> FigureTable:
    """One row for each group; those without a value last, with the reason."""
    against = standard is not None and any(rank.against_standard for rank in comparison.ranks)
    headers = ("rank", "compared", QUANTITIES[comparison.of].words, "planters", "tied with")
    rows = [
        (
            rank.words,
            labels[rank.contender.key],
            value_words(comparison.of, rank.contender.estimate),
            str(rank.contender.plantings),
            tied_words(rank.tied_with, labels, most=MOST_NAMES),
            *([change_words(comparison.of, rank.against_standard)] if against else []),
        )
        for rank in comparison.ranks
    ]
    rest = [""] * (2 + against)
    rows += [("not ranked", labels[one.key], one.reason, *rest) for one in comparison.unknown]
    return FigureTable(title, (*headers, *(["against the standard"] if against else [])), tuple(rows))


def tied_words(keys: Sequence[str], labels: Mapping[str, str], *, most: int) -> str:
    """The names, or their number where there are more than are read."""
    return f"{len(keys)} others" if len(keys) > most else ", ".join(labels[key] for key in keys)


def value_words(of: str, estimate: Estimate) -> str:
    """A value and its interval in the unit of the number."""
    if of == "days_to_50":
        return days_words(estimate)
    if of == "weeks_in_bloom":
        return weeks_words(estimate)
    return estimate_words(of, estimate)


def change_words(of: str, change: Estimate | None) -> str:
    """A signed difference with its interval; empty for none."""
    if change is None:
        return ""
    value, low, high = change.value, change.low, change.high
    if of in ("days_to_50", "weeks_in_bloom", "flower_to_leaf"):
        digits, unit = {"days_to_50": (0, " days"), "weeks_in_bloom": (1, " weeks")}.get(of, (2, ""))
    else:
        value, low, high, digits, unit = 100 * value, 100 * low, 100 * high, 0, " points"
    return f"{signed(value, digits)}{unit} ({signed(low, digits)} to {signed(high, digits)})"


def _round_top(comparison: Comparison) -> float:
    highest = max((rank.contender.estimate.high for rank in comparison.ranks), default=1.0)
    steps: tuple[float, ...]
    if comparison.of in ("days_to_50", "weeks_in_bloom"):
        steps = (5.0, 10.0, 20.0, 30.0, 40.0, 60.0, 90.0, 120.0, 180.0)
    else:
        steps = (0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0, 4.0, 8.0)
    return next((step for step in steps if step >= highest), highest)


def _ends(of: str, left: float, right: float, top: float) -> Svg:
    words = {"days_to_50": f"{top:.0f} days", "weeks_in_bloom": f"{top:.0f} weeks", "flower_to_leaf": f"{top:g}"}
    return join(
        text(left, 14, "0", opacity=MUTED),
        text(right, 14, words.get(of, f"{top * 100:.0f} %"), text_anchor="end", opacity=MUTED),
        line(left, 20, right, 20),
    )


def _standard_line(
    comparison: Comparison, standard: str | None, left: float, right: float, top: float, base: float
) -> Svg:
    held = next((one.contender.estimate for one in comparison.ranks if one.contender.key == standard), None)
    if held is None:
        return Svg("")
    x = left + min(held.value / top, 1.0) * (right - left)
    return line(x, 20, x, base, opacity=0.4, stroke_dasharray="2 3", class_="fig-standard")


def _row(rank: Rank, label: str, at: int, left: float, right: float, top: float, of: str, standard: str | None) -> Svg:
    y = _TOP_PX + _ROW_PX * at
    estimate = rank.contender.estimate
    low, x, high = (
        left + min(max(v, 0.0) / top, 1.0) * (right - left) for v in (estimate.low, estimate.value, estimate.high)
    )
    also = " (the standard)" if rank.contender.key == standard else ""
    words = value_words(of, estimate).partition(" (")[0]
    room = right - left - text_width(words, SMALL_PX, bold=True) - text_width(also, SMALL_PX) - 8
    middle = y + 30
    return tag(
        "g",
        tag("title", f"Rank {rank.words}: {label}{also}, {value_words(of, estimate)}"),
        text(_SIDE_PX, middle + 4, rank.words, size=TEXT_PX, font_weight="600"),
        text(left, y + 16, f"{shorten(label, SMALL_PX, room)}{also}"),
        text(right, y + 16, words, text_anchor="end", font_weight="600"),
        tag("line", x1=low, y1=middle, x2=high, y2=middle, stroke=INK, stroke_width=3, stroke_opacity=0.45),
        tag("circle", cx=x, cy=middle, r=4.5, fill=INK),
        line(_SIDE_PX, y + _ROW_PX, right, y + _ROW_PX),
        class_="fig-rank",
        data_group=rank.contender.key,
    )


def _tied_words(comparison: Comparison) -> list[str]:
    if not any(rank.tied_with for rank in comparison.ranks):
        return []
    return ["A rank such as 2–4 is a tie: it may be any of these."]
