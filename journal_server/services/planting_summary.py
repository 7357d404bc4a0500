"""The season of one planting in a few numbers: as numbers, as words ready to show, and as quotes to copy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from journal_server.analysis.quotable import CM, RATIO, SHARE, QuotableNumber
from journal_server.analysis.series import SHARE_WORDS, SHARES_OF_BLOOM, points_by_day
from journal_server.analysis.summary import Latest, PlantingSummary, summarise
from journal_server.analysis.survival import Survival
from journal_server.domain.dates import day_words
from journal_server.domain.units import Units
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import quotable_bounds, quotable_value, season_name
from journal_server.services.compare_plantings import growth_of_planting, survival_words
from journal_server.services.comparison_groups import load_survival
from journal_server.services.journal import Journal
from journal_server.services.quotable import load_quotable
from journal_server.services.quotes import Named, Quoted, in_units, named_as, quote, quote_number, source_words
from journal_server.services.season import StoredSeason, load_season
from journal_server.settings import units_of

UNITS = {"flower_to_leaf": RATIO, "evenness": RATIO, "spill_cm": CM}
HEADERS = ("number", "value", "90 % interval", "note")

Row = dict[str, Any]


@dataclass(frozen=True)
class _Planting:
    """What the rows of one planting are made from."""

    stored: StoredSeason
    summary: PlantingSummary
    numbers: Mapping[str, QuotableNumber]
    units: Units

    @property
    def named(self) -> Named:
        return named_as(self.stored)

    def row(self, name: str, number: QuotableNumber, reason: str | None = None) -> Row:
        """``reason`` counts before the number's own where there is no number."""
        if number.estimate is None:
            return _row(name, reason=reason or number.reason or "not measured yet")
        shown = in_units(number, self.units)
        made = quote_number(number, self.named, self.stored.photos, units=self.units)
        return _row(name, quotable_value(shown), quotable_bounds(shown), quoted=made)


def planting_summary(journal: Journal, planting_id: str) -> dict[str, Any]:
    """Numbers, ``rows`` in words each with its ``quote``, and ``copies`` of the rows as a table."""
    stored = load_season(journal, planting_id)
    summary, survived = summarise(stored.season), load_survival(journal, planting_id)
    numbers = {one.key: one for one in load_quotable(journal, [stored])[planting_id]}
    planting = _Planting(stored, summary, numbers, units_of(journal.settings()))
    rows = [*_latest_rows(planting), *_season_rows(planting), _survival_row(planting, survived)]
    return summary.as_dict() | {
        "survival": survived.as_dict(),
        "growth": growth_of_planting(journal, planting_id),
        "rows": rows,
        "copies": _as_table(stored, rows).as_dict()["copies"],
    }


def _latest_rows(planting: _Planting) -> list[Row]:
    summary, foliage_only = planting.summary, planting.stored.season.foliage_only
    return [
        planting.row(f"{SHARE_WORDS[name]}, latest", _latest(planting, name, latest))
        for name, latest in summary.latest.items()
        if not (foliage_only and name in SHARES_OF_BLOOM)
    ]


def _latest(planting: _Planting, name: str, latest: Latest | None) -> QuotableNumber:
    season, unit, words = planting.stored.season, UNITS.get(name, SHARE), SHARE_WORDS[name]
    key = f"{name}_latest"
    if latest is None:
        return QuotableNumber(key, season.planting_id, words, unit, reason=planting.summary.reasons[name])
    photos = next(point.photo_ids for point in points_by_day(season) if point.taken_on == latest.taken_on)
    return QuotableNumber(key, season.planting_id, words, unit, latest.estimate, on=latest.taken_on, photo_ids=photos)


def _season_rows(planting: _Planting) -> list[Row]:
    numbers, bloom = planting.numbers, planting.summary.bloom
    grown = [
        planting.row("half full after", numbers["days_to_50"]),
        planting.row("nine tenths full after", numbers["days_to_90"]),
    ]
    if planting.stored.season.foliage_only:
        return grown
    return [
        *grown,
        planting.row(f"peak bloom, {day_words(bloom.peak_on)}" if bloom.peak_on else "peak bloom", numbers["peak"]),
        planting.row("weeks in bloom", numbers["weeks_in_bloom"]),
        planting.row("season bloom", numbers["season_bloom"]),
        _fade_row(planting),
    ]


def _fade_row(planting: _Planting) -> Row:
    """The farthest that the bloom colour has moved from its reference day, with its interval and any doubt."""
    faded, facts = planting.summary.fade, planting.stored.photos
    most, reference = faded.most, faded.reference
    if most is None or reference is None:
        return _row("fade", reason=planting.summary.reasons.get("fade_most_de00"))
    value, interval = f"{most.difference.de00:.1f}", most.interval
    bounds = f"{interval.low:.1f}–{interval.high:.1f}" if interval else None
    doubt = f"doubtful: {most.doubt}" if most.doubt else None if interval else "interval not known"
    ids = (*reference.photo_ids, *_photos_on(planting, most.taken_on.isoformat()))
    made = quote(
        Quoted(
            planting.numbers["fade_most"].words,
            f"dE00 {value}",
            bounds or "",
            (reference.taken_on, most.taken_on),
            planting.named,
            tuple(facts[id_] for id_ in ids if id_ in facts),
            (doubt,) if doubt else (),
        )
    )
    return _row(f"fade (CIEDE2000), most on {day_words(most.taken_on)}", value, bounds, doubt, made)


def _photos_on(planting: _Planting, day: str) -> tuple[str, ...]:
    points = points_by_day(planting.stored.season)
    return next((point.photo_ids for point in points if point.taken_on.isoformat() == day), ())


def _survival_row(planting: _Planting, survived: Survival) -> Row:
    """A share only where somebody counted: that none was noted as lost does not say that all live."""
    return planting.row("plants living", planting.numbers["survival"], survival_words(survived))


def _row(
    name: str,
    value: str | None = None,
    interval: str | None = None,
    reason: str | None = None,
    quoted: dict[str, str] | None = None,
) -> Row:
    return {"name": name, "value": value, "interval": interval, "reason": reason, "quote": quoted}


def _as_table(stored: StoredSeason, rows: list[Row]) -> FigureTable:
    title = f"{season_name(stored.season)} in {stored.season.place}: the season in numbers"
    cells = [tuple(row[name] or "" for name in ("name", "value", "interval", "reason")) for row in rows]
    return FigureTable(title, HEADERS, tuple(cells), source_words(stored.photos.values()))
