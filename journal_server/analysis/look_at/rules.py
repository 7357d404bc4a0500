"""What judges by each rule, and the one function that applies them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from journal_server.analysis.look_at.bloom import bloom_fell, not_yet_in_bloom, self_cleaning, spent_high
from journal_server.analysis.look_at.colour import colour_moved
from journal_server.analysis.look_at.growth import shrank, stopped_growing
from journal_server.analysis.look_at.lagging import lagging_plant
from journal_server.analysis.look_at.rule_settings import RULE_SETTINGS, USUAL
from journal_server.analysis.look_at.things import Judge, LookAt, TrialDay, known_on, stands_on
from journal_server.analysis.look_at.upkeep import (
    card_missing,
    care_overdue,
    heat_ahead,
    identity_doubtful,
    not_photographed,
)

JUDGES: dict[str, Judge] = {
    "bloom_fell": bloom_fell,
    "lagging_plant": lagging_plant,
    "shrank": shrank,
    "stopped_growing": stopped_growing,
    "not_yet_in_bloom": not_yet_in_bloom,
    "spent_high": spent_high,
    "self_cleaning": self_cleaning,
    "colour_moved": colour_moved,
    "care_overdue": care_overdue,
    "heat_ahead": heat_ahead,
    "card_missing": card_missing,
    "identity_doubtful": identity_doubtful,
    "not_photographed": not_photographed,
}


def look_at(trial: TrialDay, settings: Mapping[str, float] = USUAL, of: Collection[str] | None = None) -> list[LookAt]:
    """All things to look at on the trial's day, in walking order, those of one planting in the order of the rules.

    Parameters
    ----------
    trial : what happened after its day is left out; its weather alone may go on, as the forecast
    settings : rule name to its setting; 0 or a missing name turns the rule off
    of : ids of the plantings asked for; None for all. The others are still what they are judged by

    Returns
    -------
    list of LookAt, answered or not
    """
    standing = [p for p in trial.plantings if stands_on(p, trial.day)]
    known = replace(trial, plantings=tuple(known_on(p, trial.day) for p in standing))
    found = (
        JUDGES[name](planting, known, settings[name] / setting.per)
        for planting in known.plantings
        if of is None or planting.id in of
        for name, setting in RULE_SETTINGS.items()
        if settings.get(name, 0) > 0
    )
    return [one for one in found if one is not None]
