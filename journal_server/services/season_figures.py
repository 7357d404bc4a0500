"""The figures of one planting's season and the tables behind them, drawn from the stored records."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from journal_server.analysis.fade import fade
from journal_server.analysis.series import PlantingSeason
from journal_server.analysis.summary import PlantingSummary, summarise
from journal_server.errors import NotFound
from journal_server.figures.curves import draw_curve
from journal_server.figures.slots import draw_slots
from journal_server.figures.swatches import draw_swatches
from journal_server.figures.tables import FigureTable, curve_table, slots_table, swatch_table
from journal_server.services.journal import Journal
from journal_server.services.quotes import named_as, source_words
from journal_server.services.season import StoredSeason, load_season

CURVES = ("canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf")
QUANTITIES = (*CURVES, "evenness", "colour")


def planting_figure(journal: Journal, planting_id: str, quantity: str, width_px: int) -> str:
    """One curve of one planting, as SVG text."""
    season = load_season(journal, planting_id).season
    return _draw(season, summarise(season), quantity, width_px)


def planting_rows(journal: Journal, planting_id: str, quantity: str) -> FigureTable:
    return _rows(load_season(journal, planting_id), quantity)


def all_curves(journal: Journal, planting_id: str, width_px: int) -> list[dict[str, Any]]:
    """All figures of a planting with their tables in one go: what a phone keeps for when there is no signal."""
    stored = load_season(journal, planting_id)
    summary = summarise(stored.season)
    return [
        {"of": of, "svg": _draw(stored.season, summary, of, width_px), "table": _rows(stored, of).as_dict()}
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


def _rows(stored: StoredSeason, quantity: str) -> FigureTable:
    """The table says where it comes from, so that a copy of it does too."""
    return replace(_table(stored.season, quantity), source=source_words(stored.photos.values(), of=named_as(stored)))


def _table(season: PlantingSeason, quantity: str) -> FigureTable:
    if quantity in CURVES:
        return curve_table(season, quantity)
    if quantity == "evenness":
        return slots_table(season)
    if quantity == "colour":
        return swatch_table(season, fade(season))
    raise _no_curve(quantity)


def _no_curve(quantity: str) -> NotFound:
    return NotFound(f"There is no curve of {quantity[:40]!r}; there are: {', '.join(QUANTITIES)}.")
