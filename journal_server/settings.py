"""One table of settings: name, default, what it accepts, help. They live in the journal, so they travel with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tzlocal import get_localzone_name

from journal_server.analysis.look_at.rule_settings import RULE_SETTINGS
from journal_server.domain.field_checks import number, one_of, text, whole
from journal_server.domain.units import LENGTH_UNITS, TEMPERATURE_UNITS, Units
from journal_server.errors import InputRefused


def _time_zone(value: Any) -> str:
    try:
        if not isinstance(value, str) or not value:
            raise ValueError
        ZoneInfo(value)
    except (ValueError, OSError, KeyError):
        raise InputRefused(f"There is no time zone {value!r}; one looks like Europe/Paris.") from None
    return value


def _here() -> str:
    try:
        return _time_zone(get_localzone_name())
    except (InputRefused, LookupError, ValueError):
        return "UTC"


def _number_or_off(least: float, most: float) -> Callable[[Any], float]:
    within = number(0, most, required=True)

    def check(value: Any) -> float:
        given = float(within(value))
        if 0 < given < least:
            raise InputRefused(f"This must be 0 (off) or from {least:g} to {most:g}, not {given:g}.")
        return given

    return check


def _folder_or_none(value: Any) -> str:
    given = str(text(500)(value) or "")
    if given and not Path(given).is_absolute():
        raise InputRefused("Give the whole path of the folder, like /media/disk/journal or D:\\journal.")
    return given


PAPERS = ("a4", "letter")
LOOK_AT = "look_at_"
"""Before the name of a rule: its setting."""


@dataclass(frozen=True)
class Setting:
    label: str
    default: Callable[[], Any]
    check: Callable[[Any], Any]
    help: str
    choices: tuple[str, ...] = ()
    group: str = ""
    on_or_off: bool = False
    """Whether there is nothing between 1 and 0, so that a screen asks with a tick."""


SETTINGS: dict[str, Setting] = {
    "temperature_unit": Setting(
        "Temperatures in",
        lambda: "°C",
        one_of(*TEMPERATURE_UNITS, required=True),
        "How temperatures are shown and typed. They are kept in °C.",
        TEMPERATURE_UNITS,
        group="Units",
    ),
    "length_unit": Setting(
        "Lengths and rain in",
        lambda: "cm",
        one_of(*LENGTH_UNITS, required=True),
        "cm goes with mm of rain. Lengths are kept in cm, rain in mm.",
        LENGTH_UNITS,
        group="Units",
    ),
    "time_zone": Setting(
        "Time zone of the garden",
        _here,
        _time_zone,
        "Assumed for photos that do not say their offset from UTC.",
    ),
    "heat_day_c": Setting(
        "Heat day from (°C)",
        lambda: 32.0,
        number(10, 50, required=True, unit="°C"),
        "A day counts as a heat day from this maximum.",
    ),
    "gap_days": Setting(
        "Gap in the season from (days)",
        lambda: 21,
        whole(3, 120, required=True),
        "Days without a measurement after which the season shows a gap.",
    ),
    "not_seen_days": Setting(
        "Not photographed for long from (days)",
        lambda: 14,
        whole(0, 120, required=True),
        "Days without a photo after which a planting is named on Today. 0 turns it off.",
    ),
    "backup_folder": Setting(
        "Back up into the folder",
        str,
        _folder_or_none,
        "On another disk than the journal's. Empty turns the scheduled backup off.",
        group="Backup",
    ),
    "backup_every_days": Setting(
        "Back up every (days)",
        lambda: 7,
        whole(1, 90, required=True),
        "Made while the journal is being served.",
        group="Backup",
    ),
    "backup_keep": Setting(
        "Backups to keep",
        lambda: 12,
        whole(1, 1000, required=True),
        "Older copies of what was entered are deleted; photos never are.",
        group="Backup",
    ),
    "paper": Setting(
        "Paper of the cards", lambda: "a4", one_of(*PAPERS, required=True), "What the cards are printed on.", PAPERS
    ),
}

SETTINGS |= {
    f"{LOOK_AT}{rule}": Setting(
        setting.label,
        partial(float, setting.usual),
        _number_or_off(setting.least, setting.most),
        setting.help if setting.is_on_or_off else f"{setting.help} 0 turns it off.",
        group="Things to look at",
        on_or_off=setting.is_on_or_off,
    )
    for rule, setting in RULE_SETTINGS.items()
    if rule != "not_photographed"  # that is not_seen_days
}


def units_of(settings: dict[str, Any]) -> Units:
    return Units(settings["temperature_unit"], settings["length_unit"])
