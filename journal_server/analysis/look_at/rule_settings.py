"""The setting of each rule, in the order in which rules are told. Standard library only: settings are read early."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RuleSetting:
    """A number from ``least`` to ``most``; 0 turns the rule off.

    ``per`` is how many of the setting's unit make the unit of the rule: 100 for a setting in per cent of a share.
    """

    label: str
    help: str
    usual: float
    least: float
    most: float
    per: float = 1.0

    @property
    def is_on_or_off(self) -> bool:
        return self.least == self.most


#: Setting 1 says on; there is nothing to choose.
ON = 1.0

RULE_SETTINGS: dict[str, RuleSetting] = {
    "bloom_fell": RuleSetting(
        "Bloom lost while the leaves are fine, from (%)",
        "Bloom cover fell by at least this share of itself, by more than measuring error and more than the others', "
        "while canopy fill held. Not told after a trim or where the flowers withered.",
        60, 10, 100, per=100,
    ),
    "lagging_plant": RuleSetting(
        "One plant lags, wrongly named at most (%)",
        "Of a hundred even plantings so many are named by mistake in a season; a higher number finds more that lag.",
        15, 0.1, 50,
    ),
    "shrank": RuleSetting(
        "The whole planting shrank, from (%)",
        "Canopy fill fell by at least this share of itself and by more than measuring error. Not told after a trim.",
        12, 5, 100, per=100,
    ),
    "stopped_growing": RuleSetting(
        "The whole planting stopped growing, for (days)",
        "No growth above measuring error for so long, below 70 % canopy fill, while the others of its age filled in.",
        14, 5, 120,
    ),
    "not_yet_in_bloom": RuleSetting(
        "Not yet in bloom, later than the others by (days)",
        "No bloom so many days after half of the others of its age had come into bloom.",
        14, 3, 120,
    ),
    "spent_high": RuleSetting(
        "Spent bloom shows, from (%)",
        "Spent bloom is surely at least this share of what is seen: deadheading would show a difference.",
        8, 1, 100, per=100,
    ),
    "self_cleaning": RuleSetting(
        "Self-cleaning, up to (%)",
        "Spent bloom was surely at most this share of what is seen on every date in bloom for five weeks, without "
        "deadheading.",
        8, 1, 50, per=100,
    ),
    "colour_moved": RuleSetting(
        "Bloom colour moved more than usual, by (CIEDE2000)",
        "The colour is so much farther from its first bloom than that of its kind, on two dates in sure light.",
        6, 1, 50,
    ),
    "care_overdue": RuleSetting(
        "Planned care overdue, from (days)", "Planned care is so many days late.", 1, 1, 120
    ),
    "heat_ahead": RuleSetting(
        "Heat ahead in full sun, looking ahead (days)",
        "A heat day is entered or forecast within so many days, for plantings in full sun.",
        3, 1, 14,
    ),
    "card_missing": RuleSetting(
        "Card not readable, on the last (dates)",
        "No photo of the last so many dates shows the planting's card.",
        2, 1, 20,
    ),
    "identity_doubtful": RuleSetting(
        "Identity in doubt", "The planting's identity is entered as doubtful.", ON, ON, ON
    ),
    "not_photographed": RuleSetting(
        "Not photographed, for (days)", "No photo of the planting for so many days.", 14, 1, 120
    ),
}  # fmt: skip

USUAL: dict[str, float] = {name: setting.usual for name, setting in RULE_SETTINGS.items()}
