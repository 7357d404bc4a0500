"""The table of rules, in the order in which they are told, and the one function that applies them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from journal_server.analysis.look_at.bloom import bloom_fell, not_yet_in_bloom, self_cleaning, spent_high
from journal_server.analysis.look_at.colour import colour_moved
from journal_server.analysis.look_at.growth import shrank, stopped_growing
from journal_server.analysis.look_at.lagging import lagging_plant
from journal_server.analysis.look_at.things import Judge, LookAt, TrialDay, known_on, stands_on
from journal_server.analysis.look_at.upkeep import (
    card_missing,
    care_overdue,
    heat_ahead,
    identity_doubtful,
    not_photographed,
)


@dataclass(frozen=True)
class Rule:
    """One rule: its setting is a number from ``least`` to ``most``, and 0 turns it off.

    ``per`` is how many of the setting's unit make the unit of the rule: 100 for a setting in per cent of a share.
    """

    judge: Judge
    label: str
    help: str
    usual: float
    least: float
    most: float
    per: float = 1.0


#: Setting 1 says on; there is nothing to choose.
ON = 1.0

RULES: dict[str, Rule] = {
    "bloom_fell": Rule(
        bloom_fell,
        "bloom lost while the leaves are fine, from (%)",
        "Bloom cover fell by at least this share of itself, by more than measuring error and more than the others', "
        "while canopy fill held. Not told after a trim or where the flowers withered.",
        60, 10, 100, per=100,
    ),
    "lagging_plant": Rule(
        lagging_plant,
        "one plant lags, wrongly named at most (%)",
        "Of a hundred even plantings so many are named by mistake in a season; a higher number finds more that lag.",
        15, 0.1, 50,
    ),
    "shrank": Rule(
        shrank,
        "the whole planting shrank, from (%)",
        "Canopy fill fell by at least this share of itself and by more than measuring error. Not told after a trim.",
        12, 5, 100, per=100,
    ),
    "stopped_growing": Rule(
        stopped_growing,
        "the whole planting stopped growing, for (days)",
        "No growth above measuring error for so long, below 70 % canopy fill, while the others of its age filled in.",
        14, 5, 120,
    ),
    "not_yet_in_bloom": Rule(
        not_yet_in_bloom,
        "not yet in bloom, later than the others by (days)",
        "No bloom so many days after half of the others of its age had come into bloom.",
        14, 3, 120,
    ),
    "spent_high": Rule(
        spent_high,
        "spent bloom shows, from (%)",
        "Spent bloom is surely at least this share of what is seen: deadheading would show a difference.",
        8, 1, 100, per=100,
    ),
    "self_cleaning": Rule(
        self_cleaning,
        "self-cleaning, up to (%)",
        "Spent bloom stayed at or below this share on every date in bloom for five weeks, without deadheading.",
        5, 1, 50, per=100,
    ),
    "colour_moved": Rule(
        colour_moved,
        "bloom colour moved more than usual, by (CIEDE2000)",
        "The colour is so much farther from its first bloom than that of its kind, on two dates in sure light.",
        6, 1, 50,
    ),
    "care_overdue": Rule(
        care_overdue, "planned care overdue, from (days)", "Planned care is so many days late.", 1, 1, 120
    ),
    "heat_ahead": Rule(
        heat_ahead,
        "heat ahead in full sun, looking ahead (days)",
        "A heat day is entered or forecast within so many days, for plantings in full sun.",
        3, 1, 14,
    ),
    "card_missing": Rule(
        card_missing,
        "card not readable, on the last (dates)",
        "No photo of the last so many dates shows the planting's card.",
        2, 1, 20,
    ),
    "identity_doubtful": Rule(
        identity_doubtful, "identity in doubt (1: told)", "The planting's identity is entered as doubtful.", ON, ON, ON
    ),
    "not_photographed": Rule(
        not_photographed, "not photographed, for (days)", "No photo of the planting for so many days.", 14, 1, 120
    ),
}  # fmt: skip

USUAL: dict[str, float] = {name: rule.usual for name, rule in RULES.items()}


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
    known = TrialDay(trial.day, tuple(known_on(p, trial.day) for p in standing), trial.weather, trial.heat_day_c)
    found = (
        rule.judge(planting, known, settings[name] / rule.per)
        for planting in known.plantings
        if of is None or planting.id in of
        for name, rule in RULES.items()
        if settings.get(name, 0) > 0
    )
    return [one for one in found if one is not None]
