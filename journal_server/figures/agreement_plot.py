"""Method less count over their mean, a circle a photo, with bias and limits of agreement (Bland and Altman 1986)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from journal_server.analysis.agreement import ComparedShare, ShareAgreement
from journal_server.analysis.series import SHARE_WORDS
from journal_server.figures.agreement_words import BEYOND, WITHIN, difference_words, points_words, share_sentences
from journal_server.figures.svg import (
    INK,
    MUTED,
    PAPER,
    SMALL_PX,
    Svg,
    document,
    haloed,
    join,
    line,
    tag,
    text,
    wrap,
)
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import estimate_words
from journal_server.measurement.result import Estimate

LEAST_TAP_PX = 24.0
_LEFT_PX, _RIGHT_PX, _TOP_PX, _SIDE_PX = 44.0, 66.0, 30.0, 8.0
_LINE_PX = 16
_LABEL_PX = 13.0
_KEY = "A filled circle is a photo where the two differ by more than the errors of both."


@dataclass(frozen=True)
class _Plot:
    left: float
    right: float
    top: float
    base: float
    widest: float
    highest: float

    def x(self, share: float) -> float:
        return self.left + min(max(share / self.widest, 0.0), 1.0) * (self.right - self.left)

    def y(self, difference: float) -> float:
        middle = (self.top + self.base) / 2
        return middle - min(max(difference / self.highest, -1.0), 1.0) * (self.base - self.top) / 2


def draw_agreement(
    found: ShareAgreement,
    compared: Sequence[ComparedShare],
    labels: Mapping[str, str],
    *,
    width_px: int = 390,
    height_px: int = 200,
) -> str:
    """SVG text; each photo is a group ``fig-date`` with data-photo. ``labels`` are the photos' names by id.

    ``height_px`` is the height of the plotting area; axis and caption come on top.
    """
    plot = _plot(found, compared, float(width_px), float(height_px))
    name = SHARE_WORDS[found.name]
    words = [*share_sentences(found), _KEY] if compared else share_sentences(found)
    lines = [one for sentence in words for one in wrap(sentence, SMALL_PX, width_px - 2 * _SIDE_PX)]
    under = plot.base + 54
    body = [
        text(_SIDE_PX, 14, "the method less the count, in points", opacity=MUTED),
        _levels(plot),
        _limits(plot, found),
        *(_photo(plot, one, found.name, labels[one.photo_id]) for one in compared),
        line(plot.left, plot.base, plot.right, plot.base, opacity=0.75),
        _shares(plot, name),
        _names(plot, found),
        *(text(_SIDE_PX, under + _LINE_PX * at, one) for at, one in enumerate(lines)),
    ]
    height = under + _LINE_PX * len(lines) - 4
    title = f"Agreement with point counts: {name}"
    return document(f"agreement-{found.name.replace('_', '-')}", width_px, height, title, " ".join(words), *body)


def agreement_table(found: ShareAgreement, compared: Sequence[ComparedShare], labels: Mapping[str, str]) -> FigureTable:
    """One row for each photo."""
    rows = [
        (
            labels[one.photo_id],
            estimate_words(found.name, one.counted),
            estimate_words(found.name, one.measured),
            difference_words(one.difference),
            WITHIN if one.is_within_error else BEYOND,
        )
        for one in compared
    ]
    name = SHARE_WORDS[found.name]
    headers = ("photo", f"{name}, counted", f"{name}, by the method", "method less count", "verdict")
    return FigureTable(f"Agreement with point counts: {name}", headers, tuple(rows))


def _plot(found: ShareAgreement, compared: Sequence[ComparedShare], width: float, height: float) -> _Plot:
    shares = [_mean(one) for one in compared]
    widest = 1.0 if found.name == "canopy_fill" else _round_up(max(shares, default=0.1), (0.05, 0.1, 0.2, 0.4, 0.6))
    reach = [abs(one.difference.value) for one in compared]
    reach += [abs(n) for limit in (found.lower, found.upper) if limit for n in (limit.low, limit.high)]
    highest = _round_up(max(reach, default=0.05), (0.05, 0.1, 0.2, 0.3, 0.4, 0.6))
    return _Plot(_LEFT_PX, width - _RIGHT_PX, _TOP_PX, _TOP_PX + height, widest, highest)


def _round_up(value: float, steps: Sequence[float]) -> float:
    return next((step for step in steps if step >= value), 1.0)


def _mean(one: ComparedShare) -> float:
    return (one.counted.value + one.measured.value) / 2


def _levels(plot: _Plot) -> Svg:
    parts = []
    for share in (-1.0, -0.5, 0.0, 0.5, 1.0):
        value = share * plot.highest
        words = points_words(value, 1 if plot.highest < 0.1 and abs(share) == 0.5 else 0).split(" ")[0]
        parts.append(line(plot.left, plot.y(value), plot.right, plot.y(value), opacity=0.5 if share == 0 else 0.12))
        parts.append(text(plot.left - 6, plot.y(value) + 4, words, text_anchor="end", opacity=MUTED))
    return join(*parts)


def _shares(plot: _Plot, name: str) -> Svg:
    ends = [
        text(plot.x(share), plot.base + 15, f"{share * 100:g} %", text_anchor="middle", opacity=MUTED)
        for share in (0.0, plot.widest / 2, plot.widest)
    ]
    middle = (plot.left + plot.right) / 2
    return join(*ends, text(middle, plot.base + 31, f"{name}, mean of both", text_anchor="middle", opacity=MUTED))


def _limits(plot: _Plot, found: ShareAgreement) -> Svg:
    """Bands are intervals; the wide pale one is what is left of the limits without the counting's own error."""
    parts = []
    if found.lower_left and found.upper_left:
        parts.append(_band(plot, Estimate(0.0, found.lower_left.value, found.upper_left.value), 0.06))
    for limit in (found.lower, found.upper):
        if limit:
            parts.append(_band(plot, limit, 0.1))
            y = plot.y(limit.value)
            parts.append(line(plot.left, y, plot.right, y, opacity=0.75, stroke_dasharray="5 4"))
    if found.bias:
        parts.append(_band(plot, found.bias, 0.16))
        parts.append(line(plot.left, plot.y(found.bias.value), plot.right, plot.y(found.bias.value), opacity=0.9))
    return join(*parts)


def _band(plot: _Plot, interval: Estimate, strength: float) -> Svg:
    top, base = plot.y(interval.high), plot.y(interval.low)
    width = plot.right - plot.left
    return tag("rect", x=plot.left, y=top, width=width, height=base - top, fill=INK, fill_opacity=strength)


def _names(plot: _Plot, found: ShareAgreement) -> Svg:
    """At the right what each line is, moved apart where they would cross."""
    marked = [("limit", found.upper), ("bias", found.bias), ("limit", found.lower)]
    placed: list[Svg] = []
    below = plot.top - _LABEL_PX
    for word, estimate in marked:
        if estimate is None:
            continue
        y = max(plot.y(estimate.value) + 4, below + _LABEL_PX)
        below = y
        number = points_words(estimate.value).split(" ")[0]
        placed.append(haloed(plot.right + 6, y, f"{word} {number}"))
    return join(*placed)


def _photo(plot: _Plot, one: ComparedShare, name: str, label: str) -> Svg:
    change = one.difference
    x, y = plot.x(_mean(one)), plot.y(change.value)
    words = (
        f"{label}: counted {estimate_words(name, one.counted)}, method {estimate_words(name, one.measured)}, "
        f"difference {difference_words(change)}"
    )
    half = LEAST_TAP_PX / 2
    return tag(
        "g",
        tag("title", words),
        tag("rect", x=x - half, y=y - half, width=LEAST_TAP_PX, height=LEAST_TAP_PX, fill="transparent"),
        tag("line", x1=x, y1=plot.y(change.low), x2=x, y2=plot.y(change.high), stroke=INK, stroke_opacity=0.6,
            class_="fig-interval", opacity=0.0),
        tag("circle", cx=x, cy=y, r=4, fill=PAPER if one.is_within_error else INK, stroke=INK, stroke_width=1.25),
        class_="fig-date",
        data_photo=one.photo_id,
    )  # fmt: skip
