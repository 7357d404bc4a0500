"""One table of settings: name, default, what it accepts, help. They live in the journal, so they travel with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from tzlocal import get_localzone_name

from journal_server.domain.field_checks import number, one_of, whole
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


PAPERS = ("a4", "letter")


@dataclass(frozen=True)
class Setting:
    label: str
    default: Callable[[], Any]
    check: Callable[[Any], Any]
    help: str
    choices: tuple[str, ...] = ()


SETTINGS: dict[str, Setting] = {
    "time_zone": Setting(
        "Time zone of the garden",
        _here,
        _time_zone,
        "Assumed for photos that do not say their offset from UTC.",
    ),
    "heat_day_c": Setting(
        "Heat day from (°C)",
        lambda: 32.0,
        number(10, 50, required=True),
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
        whole(1, 120, required=True),
        "Days without a photo after which a planting is named on Today.",
    ),
    "paper": Setting(
        "Paper of the cards", lambda: "a4", one_of(*PAPERS, required=True), "What the cards are printed on.", PAPERS
    ),
}
