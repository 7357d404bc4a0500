"""Numbers that were counted or noted and not measured: exact, and quoted like the others."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import median

from journal_server.analysis.quotable import DAYS, OF_FIVE, TIMES, QuotableNumber, exactly
from journal_server.analysis.verdict_drafts.material import PlantingMaterial, VerdictMaterial
from journal_server.analysis.weather import DayWeather

DATES = "dates"


def counted(
    key: str, planting_id: str, words: str, count: float, unit: str = TIMES, on: date | None = None
) -> QuotableNumber:
    return QuotableNumber(key, planting_id, words, unit, exactly(count), on=on)


def care_times(planting: PlantingMaterial, action: str) -> QuotableNumber:
    """How often this care was logged; where it never was, that is a sentence and no number."""
    words, dates = f"{action}, as logged", [done.on for done in planting.care if done.what == action]
    if not dates:
        return QuotableNumber(f"care_{action}", planting.id, words, TIMES, reason="none was logged")
    return counted(f"care_{action}", planting.id, words, len(dates), on=max(dates))


def finding_times(planting: PlantingMaterial, what: str) -> QuotableNumber:
    dates = [one.on for one in planting.findings if one.what == what]
    key = f"noted_{what.replace(' ', '_').replace('-', '_')}"
    return counted(key, planting.id, f"{what}, as noted on walks", len(dates), on=max(dates))


def overall_rating(planting: PlantingMaterial) -> QuotableNumber:
    words = "overall rating, the median"
    if not planting.ratings:
        return QuotableNumber("rating_overall", planting.id, words, OF_FIVE, reason="it was not rated")
    return counted("rating_overall", planting.id, words, median(planting.ratings), OF_FIVE)


def rating_count(planting: PlantingMaterial) -> QuotableNumber:
    return counted("rating_count", planting.id, "overall ratings given", len(planting.ratings), TIMES)


def dates_measured(planting: PlantingMaterial) -> QuotableNumber:
    last = planting.days[-1].taken_on if planting.days else None
    return counted("dates_measured", planting.id, "dates measured", len(planting.days), DATES, on=last)


def days_stood(planting: PlantingMaterial, until: date) -> QuotableNumber:
    days = (until - planting.season.planted_on).days
    return counted("days_stood", planting.id, "days from planting to removal", days, DAYS, on=until)


def weather_while_it_stood(planting: PlantingMaterial, material: VerdictMaterial) -> list[DayWeather]:
    """Measured days with a maximum, from the day after planting to removal."""
    first, last = planting.season.planted_on, standing_until(planting, material)
    known = (day for day in material.weather if day.tmax_c is not None and not day.forecast)
    return [day for day in known if first < day.day <= last]


def standing_until(planting: PlantingMaterial, material: VerdictMaterial) -> date:
    """Removal, or the last photo of a season whose end nobody noted, or the day looked at."""
    season = planting.season
    return min(season.removed_on or (planting.days[-1].taken_on if planting.days else material.until), material.until)


def heat_days(planting: PlantingMaterial, material: VerdictMaterial) -> QuotableNumber:
    """Days at or above the threshold while it stood; at least so many where days lack their weather."""
    words = f"days at or above {material.heat_words} while it stood"
    known, last = weather_while_it_stood(planting, material), standing_until(planting, material)
    stood = max(0, (last - planting.season.planted_on).days)
    hot = [day for day in known if (day.tmax_c or 0.0) >= material.heat_day_c]
    missing = stood - len({day.day for day in known})
    if not known:
        return QuotableNumber("heat_days", planting.id, words, DAYS, reason="no weather was noted while it stood")
    if missing > 0 and not hot:
        reason = f"the highest temperature is known for {len(known)} of the {stood} days that it stood"
        return QuotableNumber("heat_days", planting.id, words, DAYS, reason=reason)
    return QuotableNumber("heat_days", planting.id, words, DAYS, exactly(len(hot)), at_least=missing > 0, on=last)


def longest_hot_spell(planting: PlantingMaterial, material: VerdictMaterial) -> tuple[date, date] | None:
    """First and last day of the hot spell with the most heat days; one cooler day between does not end a spell."""
    hot = sorted(d.day for d in weather_while_it_stood(planting, material) if (d.tmax_c or 0.0) >= material.heat_day_c)
    spells: list[list[date]] = []
    for day in hot:
        if spells and day - spells[-1][-1] <= timedelta(days=2):
            spells[-1].append(day)
        else:
            spells.append([day])
    longest = max(spells, key=len, default=None)
    return (longest[0], longest[-1]) if longest else None
