"""The table behind each figure: the same numbers as words, for screen readers, copying and print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from journal_server.analysis.fade import Fade
from journal_server.analysis.series import SHARE_WORDS, PlantingSeason, SeasonPoint, days_after_planting, points_by_day
from journal_server.domain.dates import day_words
from journal_server.figures.table_copies import table_copies
from journal_server.figures.words import estimate_words, per_cent, season_name, week_words
from journal_server.measurement.result import Estimate

UNKNOWN_CELL = "not measured"
TIMELINE_NUMBERS = ("canopy_fill", "bloom_cover", "spent_share")


@dataclass(frozen=True)
class FigureTable:
    """Headers and rows of cells, all plain text that still needs escaping; ``source`` says where they come from."""

    title: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    source: str = ""

    def as_dict(self) -> dict[str, object]:
        """Plain JSON-ready dict; ``copies`` is the table as it is put into other programs."""
        return {
            "title": self.title,
            "headers": list(self.headers),
            "rows": [list(row) for row in self.rows],
            "source": self.source,
            "copies": table_copies(self.title, self.headers, self.rows, self.source),
        }


def timeline_table(rows: Sequence[PlantingSeason], more: Mapping[str, Mapping[str, str]] | None = None) -> FigureTable:
    """One row for each planting and date of the timeline, in the order of ``rows``.

    ``more`` are further columns: what stands in them for each planting, by its id.
    """
    shares = (SHARE_WORDS[n] for n in TIMELINE_NUMBERS)
    more = more or {}
    headers = ("planting", "place", *more, "date", "week", *shares, "bloom colour")
    cells = [
        (
            season_name(season),
            season.place,
            *(column[season.planting_id] for column in more.values()),
            *_when(season, point),
            *(_cell(season, point, name) for name in TIMELINE_NUMBERS),
            point.bloom_hex or UNKNOWN_CELL,
        )
        for season in rows
        for point in points_by_day(season)
    ]
    return FigureTable("The trial over the season", headers, tuple(cells))


def curve_table(season: PlantingSeason, of: str) -> FigureTable:
    """One row for each date of the curve of the number called ``of``."""
    headers = ("date", "week", "day after planting", SHARE_WORDS[of])
    cells = [
        (*_when(season, point), str(days_after_planting(season.planted_on, point.taken_on)), _cell(season, point, of))
        for point in points_by_day(season)
    ]
    return FigureTable(f"{season_name(season)}: {SHARE_WORDS[of]}", headers, tuple(cells))


def slots_table(season: PlantingSeason) -> FigureTable:
    """One row a date, one column a slot from left to right."""
    points = points_by_day(season)
    most = max((len(point.slots or ()) for point in points), default=0)
    cells = []
    for point in points:
        shares = [per_cent(share) for share in point.slots or ()]
        shares += [UNKNOWN_CELL] * (most - len(shares))
        cells.append((*_when(season, point), *shares, _cell(season, point, "evenness")))
    headers = ("date", "week", *(f"slot {i + 1}" for i in range(most)), "evenness")
    return FigureTable(f"{season_name(season)}: evenness along the planter", headers, tuple(cells))


def swatch_table(season: PlantingSeason, faded: Fade) -> FigureTable:
    """One row for each date with a bloom colour from the reference date on."""
    headers = ("date", "week", "bloom colour", "CIEDE2000", "dL*", "dC*", "dH*", "doubt")
    cells = [
        (
            day_words(step.taken_on),
            week_words(season.planted_on, step.taken_on),
            step.bloom_hex or UNKNOWN_CELL,
            f"{step.difference.de00:.1f}",
            f"{step.difference.dl:+.1f}",
            f"{step.difference.dc:+.1f}",
            f"{step.difference.dh:+.1f}",
            step.doubt or "",
        )
        for step in faded.steps
    ]
    return FigureTable(f"{season_name(season)}: bloom colour over the season", headers, tuple(cells))


def _when(season: PlantingSeason, point: SeasonPoint) -> tuple[str, str]:
    return day_words(point.taken_on), week_words(season.planted_on, point.taken_on)


def _cell(season: PlantingSeason, point: SeasonPoint, name: str) -> str:
    estimate: Estimate | None = getattr(point, name)
    if season.foliage_only and name in ("bloom_cover", "flower_to_leaf"):
        return "grown for its leaves"
    return estimate_words(name, estimate) if estimate else UNKNOWN_CELL
