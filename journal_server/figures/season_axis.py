"""Time from left to right: months and weeks, shared by every figure of a season."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from journal_server.domain.dates import MONTHS
from journal_server.figures.svg import MUTED, SMALL_PX, Svg, join, line, text, text_width

#: Days further apart than this are not joined as if something had been seen between them.
LONGEST_GAP_DAYS = 21


@dataclass(frozen=True)
class SeasonScale:
    """Days to pixels; ``first`` stands at ``left_px``, ``last`` at ``right_px``."""

    first: date
    last: date
    left_px: float
    right_px: float

    @property
    def px_per_day(self) -> float:
        return (self.right_px - self.left_px) / max(1, (self.last - self.first).days)

    def x(self, day: date) -> float:
        return self.left_px + (day - self.first).days * self.px_per_day

    def x_of_day_number(self, start: date, days: float) -> float:
        """Pixel of a time given as days after ``start``."""
        return self.x(start) + days * self.px_per_day

    def holds(self, day: date) -> bool:
        return self.first <= day <= self.last


def months_between(first: date, last: date) -> list[date]:
    """First days of the months after ``first`` up to ``last``."""
    months: list[date] = []
    year, month = first.year, first.month
    while True:
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        if (year, month) > (last.year, last.month):
            return months
        months.append(date(year, month, 1))


def month_lines(scale: SeasonScale, top: float, bottom: float) -> Svg:
    """Hairlines where months begin."""
    lines = [line(scale.x(m), top, scale.x(m), bottom) for m in months_between(scale.first, scale.last)]
    return join(*lines)


def month_names(scale: SeasonScale, y: float) -> Svg:
    """Each month's name where it begins, shortened or left out where there is no room."""
    starts = [scale.first, *months_between(scale.first, scale.last)]
    ends = [scale.x(m) for m in starts[1:]] + [scale.right_px]
    names = []
    for start, end in zip(starts, ends, strict=True):
        full = MONTHS[start.month - 1]
        room = end - scale.x(start) - 6
        word = next((w for w in (full, full[:3]) if text_width(w, SMALL_PX) <= room), None)
        if word:
            names.append(text(scale.x(start) + (0 if start == scale.first else 4), y, word))
    return join(*names)


def beside(scale: SeasonScale, x: float, words: str, gap: float = 6) -> tuple[float, str]:
    """Where to begin words beside ``x`` and their anchor: to its right, or to its left where they do not fit."""
    fits = x + gap + text_width(words, SMALL_PX) <= scale.right_px + 10
    return (x + gap, "start") if fits else (x - gap, "end")


def week_ticks(scale: SeasonScale, y: float, start: date) -> Svg:
    """Ticks each week after ``start`` with every second or fourth one numbered."""
    px = 7 * scale.px_per_day
    step = next((s for s in (1, 2, 4, 8, 13, 26) if s * px >= 22), 52)
    parts = []
    for week in range(0, (scale.last - start).days // 7 + 1):
        day = start + timedelta(days=7 * week)
        if scale.holds(day):
            numbered = week % step == 0
            parts.append(line(scale.x(day), y, scale.x(day), y + (5 if numbered else 3), opacity=0.5))
            if numbered:
                parts.append(text(scale.x(day), y + 16, str(week), text_anchor="middle", opacity=MUTED))
    return join(*parts)
