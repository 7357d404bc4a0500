"""Numbers and dates as the screens say them, with no more digits than the interval supports."""

from __future__ import annotations

from datetime import date

from journal_server.analysis.quotable import (
    CM,
    DAYS,
    DE00,
    OF_FIVE,
    POINTS,
    RANK,
    RATIO,
    SHARE,
    TIMES,
    WEEK,
    WEEKS,
    QuotableNumber,
)
from journal_server.analysis.season_order import Reading
from journal_server.analysis.series import (
    SHARE_WORDS,
    PlantingSeason,
    SeasonPoint,
    weeks_after_planting,
)
from journal_server.domain.cultivar_names import cultivar_words
from journal_server.domain.dates import day_words
from journal_server.domain.units import INCHES
from journal_server.measurement.result import Estimate

RATIOS = ("flower_to_leaf", "evenness")


def week_words(planted_on: date, day: date) -> str:
    """The nearest whole week after planting."""
    return f"week {round(weeks_after_planting(planted_on, day))}"


def per_cent(share: float, digits: int = 0) -> str:
    least = 10**-digits
    if 0 < share * 100 < least / 2:
        return f"under {least:.{digits}f} %"
    return f"{share * 100:.{digits}f} %"


def share_digits(estimate: Estimate) -> int:
    """Decimals of a per cent that the interval supports; the web app has the same rule (`shareInWords`)."""
    return 1 if 0 < estimate.high - estimate.low < 0.01 else 0


def amount_digits(low: float, high: float) -> int:
    """Decimals of an amount that the interval supports; the web app has the same rule (`amountInWords`)."""
    width = high - low
    return 0 if width >= 5 else 1 if width >= 0.5 else 2


def estimate_words(name: str, estimate: Estimate) -> str:
    """Value and 90 % interval, in the unit of the number called ``name``."""
    value, low, high = estimate.value, estimate.low, estimate.high
    if name == "spill_cm" or name in RATIOS:
        digits, unit = amount_digits(low, high), " cm" if name == "spill_cm" else ""
        return f"{value:.{digits}f}{unit} ({low:.{digits}f}–{high:.{digits}f})"
    digits = share_digits(estimate)
    return f"{per_cent(value, digits)} ({low * 100:.{digits}f}–{high * 100:.{digits}f})"


def signed(value: float, digits: int) -> str:
    """A difference with its sign, a true minus, and no sign on 0."""
    words = f"{value:+.{digits}f}".replace("-", "−")
    return words[1:] if float(f"{value:.{digits}f}") == 0 else words


def days_words(estimate: Estimate) -> str:
    return f"{estimate.value:.0f} days ({estimate.low:.0f}–{estimate.high:.0f})"


def weeks_words(estimate: Estimate, *, at_least: bool = False) -> str:
    words = f"{estimate.value:.1f} weeks ({estimate.low:.1f}–{estimate.high:.1f})"
    return f"at least {words}" if at_least else words


def point_words(season: PlantingSeason, point: SeasonPoint) -> str:
    """Everything measured on one day, in one sentence."""
    parts = []
    for name, words in SHARE_WORDS.items():
        estimate: Estimate | None = getattr(point, name)
        if estimate is not None and not (season.foliage_only and name in ("flower_to_leaf", "bloom_cover")):
            parts.append(f"{words} {estimate_words(name, estimate)}")
    numbers = ", ".join(parts) or "nothing could be measured"
    when = f"{day_words(point.taken_on)}, {week_words(season.planted_on, point.taken_on)}"
    return f"{season_name(season)}, {when}: {numbers}"


def short_point_words(season: PlantingSeason, point: SeasonPoint) -> str:
    """The day and its two chief numbers; their intervals are one tap away."""
    shown = [("fill", point.canopy_fill), ("bloom", None if season.foliage_only else point.bloom_cover)]
    numbers = ", ".join(f"{name} {per_cent(estimate.value)}" for name, estimate in shown if estimate)
    return f"{day_words(point.taken_on)}: {numbers or 'nothing could be measured'}"


SHORT_NAMES = {
    "canopy_fill": "fill",
    "bloom_cover": "bloom",
    "peak": "peak",
    "season_bloom": "season bloom",
    "weeks_in_bloom": "in bloom",
    "days_to_50": "half full",
    "days_to_90": "9/10 full",
    "spent_share": "spent",
    "fade": "fade",
    "evenness": "evenness",
}
"""The numbers of a season in the few letters that fit beside a ribbon."""


def short_reading_words(name: str, reading: Reading | None) -> str:
    """A number of the season beside its ribbon."""
    return f"{SHORT_NAMES[name]} {_reading_value(name, reading.value) if reading else 'not known'}"


def reading_words(name: str, reading: Reading | None) -> str:
    """A number of the season with its 90 % interval."""
    if reading is None:
        return "not known"
    if reading.estimate is None:
        return f"{_reading_value(name, reading.value)} (interval not known)"
    if name == "fade":
        return f"{reading.value:.1f} ({reading.estimate.low:.1f}–{reading.estimate.high:.1f})"
    if name in ("days_to_50", "days_to_90"):
        return days_words(reading.estimate)
    return weeks_words(reading.estimate) if name == "weeks_in_bloom" else estimate_words(name, reading.estimate)


def _reading_value(name: str, value: float) -> str:
    if name in ("days_to_50", "days_to_90"):
        return f"{value:.0f} days"
    if name == "weeks_in_bloom":
        return f"{value:.1f} weeks"
    if name == "fade":
        return f"{value:.1f}"
    return f"{value:.2f}" if name in RATIOS else per_cent(value)


def quotable_value(number: QuotableNumber) -> str:
    """A number that a review quotes, as the trade says it: "61 %", "24 days", "week 3", "at least 12.6 weeks"."""
    if number.estimate is None:
        return "not known"
    if number.unit == RANK:  # the ranks that are possible are what is known; none of them is the better guess
        return _span(f"{number.estimate.low:.0f}", f"{number.estimate.high:.0f}")
    words = _worded(number.unit, number.estimate.value, _digits(number.unit, number.estimate))
    return f"at least {words}" if number.at_least else words


def quotable_bounds(number: QuotableNumber) -> str | None:
    """Its 90 % interval as it stands in brackets, without the unit: "57–65"; None where it is known exactly."""
    estimate = number.estimate
    if estimate is None or estimate.low == estimate.value == estimate.high or number.unit == RANK:
        return None
    digits = _digits(number.unit, estimate)
    low, high = (_worded(number.unit, bound, digits, bare=True) for bound in (estimate.low, estimate.high))
    return f"{low} to {high}" if number.unit == POINTS and low != high else _span(low, high)


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low}–{high}"


def quotable_interval(number: QuotableNumber) -> str | None:
    """Its 90 % interval with the unit: "57–65 %", "week 1–3"; None where it is known exactly."""
    bounds = quotable_bounds(number)
    return None if bounds is None else _UNIT_WORDS.get(number.unit, "{}").format(bounds)


def quotable_words(number: QuotableNumber) -> str:
    """Value and interval: "61 % (57–65)"."""
    bounds = quotable_bounds(number)
    return quotable_value(number) if bounds is None else f"{quotable_value(number)} ({bounds})"


_UNIT_WORDS = {
    SHARE: "{} %",
    DAYS: "{} days",
    WEEKS: "{} weeks",
    WEEK: "week {}",
    CM: "{} cm",
    INCHES: "{} in",
    DE00: "dE00 {}",
    TIMES: "{} times",
    POINTS: "{} points",
    OF_FIVE: "{} of 5",
}
"""How a unit stands beside its number; ratios, plants and ranks are numbers alone."""


def _worded(unit: str, value: float, digits: int, *, bare: bool = False) -> str:
    if unit == SHARE and not bare:
        return per_cent(value, digits)
    if unit == TIMES and value in (1, 2) and not bare:
        return "once" if value == 1 else "twice"
    if unit == POINTS:
        number = signed(value * 100, digits)
    elif unit == OF_FIVE:
        number = f"{value:g}"
    else:
        number = f"{value * 100 if unit == SHARE else value:.{digits}f}"
    if bare:
        return number
    words = _UNIT_WORDS.get(unit, "{}").format(number)
    return words.removesuffix("s") if unit in (DAYS, WEEKS, POINTS) and number in ("1", "+1", "−1") else words


def _digits(unit: str, estimate: Estimate) -> int:
    """Decimals: as many as the interval supports where the number has no usual ones."""
    if unit == SHARE:
        return share_digits(estimate)
    if unit in (RATIO, CM, INCHES):
        return amount_digits(estimate.low, estimate.high)
    return 1 if unit in (WEEKS, DE00) else 0


def season_name(season: PlantingSeason) -> str:
    """The genus, then the cultivar in single quotes."""
    return cultivar_words(season.genus, season.cultivar)
