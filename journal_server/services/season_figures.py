"""The figures of one planting's season and the tables behind them, drawn from the stored records."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from journal_server.analysis.fade import fade
from journal_server.analysis.series import SHARE_WORDS, PlantingSeason
from journal_server.analysis.summary import PlantingSummary, summarise
from journal_server.analysis.survival import Survival
from journal_server.domain.dates import day_words
from journal_server.errors import NotFound
from journal_server.figures.curves import draw_curve
from journal_server.figures.slots import draw_slots
from journal_server.figures.swatches import draw_swatches
from journal_server.figures.tables import FigureTable, curve_table, slots_table, swatch_table
from journal_server.figures.words import days_words, estimate_words, weeks_words
from journal_server.measurement.result import Estimate
from journal_server.services.compare_plantings import growth_of_planting, survival_words
from journal_server.services.comparison_groups import load_survival
from journal_server.services.journal import Journal
from journal_server.services.season import load_season

CURVES = ("canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf")
QUANTITIES = (*CURVES, "evenness", "colour")


def planting_figure(journal: Journal, planting_id: str, quantity: str, width_px: int) -> str:
    """One curve of one planting, as SVG text."""
    season = load_season(journal, planting_id).season
    return _draw(season, summarise(season), quantity, width_px)


def planting_rows(journal: Journal, planting_id: str, quantity: str) -> FigureTable:
    return _rows(load_season(journal, planting_id).season, quantity)


def all_curves(journal: Journal, planting_id: str, width_px: int) -> list[dict[str, Any]]:
    """All figures of a planting with their tables in one go: what a phone keeps for when there is no signal."""
    season = load_season(journal, planting_id).season
    summary = summarise(season)
    return [
        {"of": of, "svg": _draw(season, summary, of, width_px), "table": _rows(season, of).as_dict()}
        for of in QUANTITIES
    ]


def _draw(season: PlantingSeason, summary: PlantingSummary, quantity: str, width_px: int) -> str:
    if quantity in CURVES:
        return draw_curve(season, quantity, summary=summary, width_px=width_px)
    if quantity == "evenness":
        return draw_slots(season, summary=summary, width_px=width_px)
    if quantity == "colour":
        return draw_swatches(season, summary.fade, width_px=width_px)
    raise _no_curve(quantity)


def _rows(season: PlantingSeason, quantity: str) -> FigureTable:
    if quantity in CURVES:
        return curve_table(season, quantity)
    if quantity == "evenness":
        return slots_table(season)
    if quantity == "colour":
        return swatch_table(season, fade(season))
    raise _no_curve(quantity)


def planting_summary(journal: Journal, planting_id: str) -> dict[str, Any]:
    """The season of one planting in a few numbers: as numbers, and as words ready to show."""
    season = load_season(journal, planting_id).season
    summary = summarise(season)
    survived = load_survival(journal, planting_id)
    rows = [*_summary_rows(season, summary), _survival_row(survived)]
    growth = growth_of_planting(journal, planting_id)
    return summary.as_dict() | {"survival": survived.as_dict(), "growth": growth, "rows": rows}


def _no_curve(quantity: str) -> NotFound:
    return NotFound(f"There is no curve of {quantity[:40]!r}; there are: {', '.join(QUANTITIES)}.")


def _summary_rows(season: PlantingSeason, summary: PlantingSummary) -> list[dict[str, str | None]]:
    rows = [
        _row(
            f"{SHARE_WORDS[name]}, latest", latest.estimate if latest else None, _share(name), summary.reasons.get(name)
        )
        for name, latest in summary.latest.items()
        if not (season.foliage_only and name in ("bloom_cover", "flower_to_leaf", "spent_share"))
    ]
    fill, bloom, reasons = summary.fill_in, summary.bloom, summary.reasons
    rows += [
        _row("half full after", fill.days_to_50, days_words, reasons.get("days_to_50")),
        _row("nine tenths full after", fill.days_to_90, days_words, reasons.get("days_to_90")),
    ]
    if season.foliage_only:
        return rows
    peak_name = f"peak bloom, {day_words(bloom.peak_on)}" if bloom.peak_on else "peak bloom"
    at_least = bool(bloom.in_bloom and (bloom.in_bloom.began_before or bloom.in_bloom.goes_on_after))
    return [
        *rows,
        _row(peak_name, bloom.peak, _share("bloom_cover"), reasons.get("peak")),
        _row(
            "weeks in bloom",
            bloom.in_bloom.weeks if bloom.in_bloom else None,
            lambda e: weeks_words(e, at_least=at_least),
            reasons.get("weeks_in_bloom"),
        ),
        _row("season bloom", bloom.season_bloom, _share("bloom_cover"), reasons.get("season_bloom")),
        _fade_row(summary),
    ]


def _fade_row(summary: PlantingSummary) -> dict[str, str | None]:
    """The farthest that the bloom colour has moved from its reference day, with its interval and any doubt."""
    most = summary.fade_most
    if most is None:
        return {"name": "fade", "value": None, "interval": None, "reason": summary.reasons.get("fade_most_de00")}
    interval = most.interval
    return {
        "name": f"fade (CIEDE2000), most on {day_words(most.taken_on)}",
        "value": f"{most.difference.de00:.1f}",
        "interval": f"{interval.low:.1f}–{interval.high:.1f}" if interval else None,
        "reason": f"doubtful: {most.doubt}" if most.doubt else None if interval else "interval not known",
    }


def _survival_row(survived: Survival) -> dict[str, str | None]:
    """A share only where somebody counted: that none was noted as lost does not say that all live."""
    counted = survived.share if survived.counted else None
    return _row("plants living", counted, _share("survival"), survival_words(survived))


def _share(name: str) -> Callable[[Estimate], str]:
    return lambda estimate: estimate_words(name, estimate)


def _row(
    name: str, estimate: Estimate | None, words: Callable[[Estimate], str], reason: str | None
) -> dict[str, str | None]:
    if estimate is None:
        return {"name": name, "value": None, "interval": None, "reason": reason or "not measured yet"}
    value, _, interval = words(estimate).partition(" (")
    return {"name": name, "value": value, "interval": interval.rstrip(")") or None, "reason": None}
