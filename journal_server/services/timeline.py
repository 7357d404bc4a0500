"""The timeline of a trial and the table behind it, in any order; drawn once as long as nothing changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.season_order import NAMES, NUMBERS, WALK, Arranged, Reading, arrange, read_number
from journal_server.analysis.series import PlantingSeason
from journal_server.domain.records import EXPOSURES, PLANTER_KINDS
from journal_server.errors import InputRefused
from journal_server.figures.lanes import CareMark
from journal_server.figures.svg import Svg
from journal_server.figures.tables import FigureTable, timeline_table
from journal_server.figures.timeline import draw_timeline
from journal_server.figures.timeline_row import RowDrawer, TimelineLayout, draw_row
from journal_server.figures.words import reading_words, short_reading_words
from journal_server.services.comparison_groups import LIGHT_NOT_SAID
from journal_server.services.journal import Journal
from journal_server.services.quotes import source_words
from journal_server.services.season import StoredSeason, load_seasons
from journal_server.services.weather import load_weather
from journal_server.settings import units_of
from journal_server.storage.records import load_records, newest_seq
from journal_server.storage.season_rows import load_care_rows

SORTS = (WALK, *NAMES, *NUMBERS)
GROUPS: dict[str, Callable[[StoredSeason], str]] = {
    "none": lambda stored: "",
    "genus": lambda stored: stored.season.genus or "genus not said",
    "planter": lambda stored: str(stored.planter["planter_kind"]),
    "light": lambda stored: _light(stored.planter),
}
AFTERNOON_SHADE = "afternoon shade"
GROUP_ORDER = (*PLANTER_KINDS, EXPOSURES[0], AFTERNOON_SHADE, *EXPOSURES[1:])
IN_THE_LABEL = ("canopy_fill", "bloom_cover")
"""Numbers that stand beside each ribbon anyway."""
NOT_CARE = ("planted", "noted")


@dataclass(frozen=True)
class Order:
    """How a person wants to see the rows: ``sort`` one of `SORTS`, ``group`` one of `GROUPS`."""

    sort: str = WALK
    group: str = "none"

    def __post_init__(self) -> None:
        if self.sort not in SORTS:
            raise InputRefused(f"Rows can be sorted by: {', '.join(SORTS)}; not {self.sort[:40]!r}.", "sort")
        if self.group not in GROUPS:
            raise InputRefused(f"Rows can be grouped by: {', '.join(GROUPS)}; not {self.group[:40]!r}.", "group")


def timeline_figure(journal: Journal, trial_id: str, width_px: int, order: Order) -> str:
    """The whole trial in one picture, as SVG text."""
    settings = journal.settings()
    heat_day_c, gap_days, units = settings["heat_day_c"], settings["gap_days"], units_of(settings)
    name = ("timeline", trial_id, width_px, order)
    with journal.database.reading() as session:
        stamp = (newest_seq(session), heat_day_c, gap_days, units)
        drawn: str | None = journal.kept_figures.get(name, stamp)
        if drawn is not None:
            return drawn
        weather, care = load_weather(session, trial_id), _care(session, trial_id)
    arranged = _arranged(journal, trial_id, order)
    drawn = draw_timeline(
        arranged.rows,
        width_px=width_px,
        weather=weather,
        care=care,
        heat_threshold_c=heat_day_c,
        units=units,
        gap_days=gap_days,
        last_day=_last_measured(arranged.rows),
        headings=arranged.headings,
        also=_also(arranged, order.sort),
        row_drawer=_row_drawer(journal),
    )
    journal.kept_figures.keep(name, stamp, drawn)
    return drawn


def timeline_rows(journal: Journal, trial_id: str, order: Order) -> FigureTable:
    """The table behind it, in the same order; what it was grouped and sorted by stands in columns of its own."""
    arranged = _arranged(journal, trial_id, order)
    more: dict[str, dict[str, str]] = {}
    if order.group != "none":
        more[order.group] = {
            stored.planting.id: GROUPS[order.group](stored) for stored in load_seasons(journal, trial_id)
        }
    if arranged.readings:
        readings = arranged.readings.items()
        more[f"sorted by {NUMBERS[order.sort].words}"] = {id_: reading_words(order.sort, one) for id_, one in readings}
    photos = [facts for stored in load_seasons(journal, trial_id) for facts in stored.photos.values()]
    return replace(timeline_table(arranged.rows, more), source=source_words(photos))


def _arranged(journal: Journal, trial_id: str, order: Order) -> Arranged:
    stored = load_seasons(journal, trial_id)
    return arrange(
        [one.season for one in stored],
        sort=order.sort,
        groups=None if order.group == "none" else {one.planting.id: GROUPS[order.group](one) for one in stored},
        group_order=GROUP_ORDER,
        readings=_readings(journal, stored, order.sort) if order.sort in NUMBERS else None,
    )


def _readings(journal: Journal, stored: Sequence[StoredSeason], number: str) -> dict[str, Reading | None]:
    """Some numbers take a fit: they are kept as long as the season they were read from is the same."""
    readings: dict[str, Reading | None] = {}
    for one in stored:
        name = (one.planting.id, number)
        kept: tuple[Reading | None] | None = journal.kept_readings.get(name, one.season)
        if kept is None:
            kept = (read_number(one.season, number),)
            journal.kept_readings.keep(name, one.season, kept)
        (readings[one.planting.id],) = kept
    return readings


def _row_drawer(journal: Journal) -> RowDrawer:
    """After a change most rows are as they were, at the same place in the picture."""

    def draw(name: str, row: PlantingSeason, layout: TimelineLayout, top: float, **how: Any) -> Svg:
        place = (name, layout, top, *how.items())
        drawn: Svg | None = journal.kept_rows.get((row.planting_id, place), row)
        if drawn is None:
            drawn = draw_row(name, row, layout, top, **how)
            journal.kept_rows.keep((row.planting_id, place), row, drawn)
        return drawn

    return draw


def _also(arranged: Arranged, sort: str) -> dict[str, str]:
    if sort in IN_THE_LABEL:
        return {}
    return {id_: short_reading_words(sort, reading) for id_, reading in arranged.readings.items()}


def _light(planter: dict[str, Any]) -> str:
    return AFTERNOON_SHADE if planter["afternoon_shade"] else planter["exposure"] or LIGHT_NOT_SAID


def _care(session: Session, trial_id: str) -> tuple[CareMark, ...]:
    plantings = [r.id for r in load_records(session, "planting", equals={"trial_id": trial_id})]
    return tuple(
        CareMark(
            date.fromisoformat(done.done_on),
            done.action,
            (done.planting_id,) if done.planting_id else (),
            done.note or "",
        )
        for done in load_care_rows(session, trial_id, plantings)
        if done.action not in NOT_CARE
    )


def _last_measured(seasons: Sequence[PlantingSeason]) -> date | None:
    return max((p.taken_on for season in seasons for p in season.points if p.canopy_fill), default=None)
