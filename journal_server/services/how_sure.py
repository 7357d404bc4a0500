"""The screen and the figures about how sure the method is: the agreement of a trial, and what to count next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from journal_server.analysis.agreement import ComparedShare, ShareAgreement, share_agreement
from journal_server.analysis.next_to_count import Countable, next_to_count
from journal_server.analysis.point_count import COUNTED_SHARES
from journal_server.domain.dates import day_words
from journal_server.errors import InputRefused
from journal_server.figures.agreement_plot import agreement_table, draw_agreement
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import season_name
from journal_server.services.audited_photos import audited_photos
from journal_server.services.journal import Journal
from journal_server.services.point_counts import agreement, compared
from journal_server.services.season import StoredSeason, load_seasons

OFFERED = 5


def how_sure(journal: Journal, trial_id: str) -> dict[str, Any]:
    """The agreement of a trial, and which of its photos would be good to count next."""
    found = agreement(journal, trial_id)
    told = {one["photo_id"] for name in ("audited", "left_out", "begun") for one in found[name]}
    seasons = load_seasons(journal, trial_id)
    countable = _countable(seasons)
    offered = next_to_count(list(countable), told, OFFERED, trial_id)
    holders = {photo.photo_id: planting_id for photo, planting_id in countable.items()}
    days = {photo.photo_id: photo.taken_on.isoformat() for photo in countable}
    found["begun"] = [one for one in found["begun"] if one["photo_id"] in holders]
    found["next"] = [{"photo_id": id_, "planting_id": holders[id_], "taken_on": days[id_]} for id_ in offered]
    found["countable"] = len(countable)
    return found


def agreement_figure(journal: Journal, trial_id: str, of: str, width_px: int) -> str:
    """Bland and Altman's plot of one share, as SVG text."""
    found, photos, labels = _of_share(journal, trial_id, of)
    return draw_agreement(found, photos, labels, width_px=width_px)


def agreement_rows(journal: Journal, trial_id: str, of: str) -> FigureTable:
    return agreement_table(*_of_share(journal, trial_id, of))


def _of_share(
    journal: Journal, trial_id: str, of: str
) -> tuple[ShareAgreement, Sequence[ComparedShare], dict[str, str]]:
    if of not in COUNTED_SHARES:
        raise InputRefused(f"The number must be one of: {', '.join(COUNTED_SHARES)}.", "of")
    seasons = load_seasons(journal, trial_id)
    photos = compared(audited_photos(journal, trial_id), of)
    labels = _labels(seasons, [one.photo_id for one in photos])
    return share_agreement(of, photos), photos, labels


def _labels(seasons: Sequence[StoredSeason], photo_ids: Sequence[str]) -> dict[str, str]:
    known = {
        point.photo_id: f"{season_name(stored.season)}, {stored.season.place}, {day_words(point.taken_on)}"
        for stored in seasons
        for point in stored.season.points
    }
    return {id_: known.get(id_, "a photo without a place in the season") for id_ in photo_ids}


def _countable(seasons: Sequence[StoredSeason]) -> dict[Countable, str]:
    """Photos with a fill to hold a count against, each with its planting."""
    return {
        Countable(
            point.photo_id,
            season_name(stored.season),
            point.taken_on,
            point.canopy_fill.value,
            point.bloom_cover.value if point.bloom_cover and not stored.season.foliage_only else None,
        ): stored.planting.id
        for stored in seasons
        for point in stored.season.points
        if point.canopy_fill
    }
