"""The figures of a comparison and the tables behind them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from journal_server.analysis.comparison import QUANTITIES, Group
from journal_server.errors import InputRefused
from journal_server.figures.comparison_curves import MOST_CURVES, comparison_table, draw_comparison
from journal_server.figures.ranking import draw_ranking, ranking_table
from journal_server.figures.tables import FigureTable
from journal_server.services.compare_plantings import Asked, Compared, describe_comparison, numbers_to_compare_by
from journal_server.services.quotes import source_words


def side_by_side(compared: Compared, width_px: int) -> dict[str, Any]:
    """All that a screen shows of a comparison, in one answer: what a phone keeps for when there is no signal."""
    return {
        "comparison": describe_comparison(compared),
        "ranking": {"svg": ranking_figure(compared, width_px), "table": ranking_rows(compared).as_dict()},
        "curves": {"svg": curves_figure(compared, width_px), "table": curves_rows(compared).as_dict()},
        "drawn": [group.key for group in curve_groups(compared)],
        "most_drawn": MOST_CURVES,
        "numbers": numbers_to_compare_by(),
    }


def ranking_figure(compared: Compared, width_px: int) -> str:
    return draw_ranking(
        compared.comparison, compared.labels, title=compared.title, standard=compared.standard, width_px=width_px
    )


def ranking_rows(compared: Compared) -> FigureTable:
    table = ranking_table(compared.comparison, compared.labels, title=compared.title, standard=compared.standard)
    return replace(table, source=_source(compared, compared.stored))


def curves_figure(compared: Compared, width_px: int) -> str:
    """The groups' curves; of more than can be told apart those chosen, or the first by value with the standard."""
    asked = compared.asked
    marked = asked.on or (7 * asked.week if asked.week is not None else None)
    return draw_comparison(
        curve_groups(compared),
        _curve_of(asked),
        by_age=asked.on is None,
        gap_days=compared.gap_days,
        marked_day=marked if QUANTITIES[asked.of].then else None,
        width_px=width_px,
    )


def curves_rows(compared: Compared) -> FigureTable:
    groups = curve_groups(compared)
    drawn = [season.planting_id for group in groups for season in group.seasons]
    return replace(comparison_table(groups, _curve_of(compared.asked)), source=_source(compared, drawn))


def _source(compared: Compared, planting_ids: Iterable[str]) -> str:
    return source_words([facts for id_ in planting_ids for facts in compared.stored[id_].photos.values()])


def curve_groups(compared: Compared) -> list[Group]:
    """The groups whose curves are drawn: those that a person chose, else the first by value."""
    chosen = set(compared.asked.drawn) & set(compared.labels) or _first_by_value(compared)
    if len(chosen) > MOST_CURVES:
        raise InputRefused(f"At most {MOST_CURVES} curves can be told apart; choose fewer.", "draw")
    return [compared.with_seasons(group) for group in compared.groups if group.key in chosen]


def _first_by_value(compared: Compared) -> set[str]:
    order = [rank.contender.key for rank in compared.comparison.ranks]
    if compared.standard in order:
        order.remove(compared.standard)
        order.insert(0, compared.standard)
    order += [one.key for one in compared.comparison.unknown]
    return set(order[:MOST_CURVES])


def _curve_of(asked: Asked) -> str:
    """The curve behind a number: that of canopy fill for times to fill, of bloom cover for what is read off bloom."""
    if QUANTITIES[asked.of].then:
        return asked.of
    return "canopy_fill" if asked.of == "days_to_50" else "bloom_cover"
