"""One table of settings: name, default, what it accepts, help. They live in the journal, so they travel with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from tzlocal import get_localzone_name

from journal_server.domain.records import number, one_of, whole
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


@dataclass(frozen=True)
class Setting:
    default: Callable[[], Any]
    check: Callable[[Any], Any]
    help: str


SETTINGS: dict[str, Setting] = {
    "time_zone": Setting(
        _here,
        _time_zone,
        "Time zone of the garden; assumed for photos that do not say their offset from UTC.",
    ),
    "heat_day_c": Setting(
        lambda: 32.0,
        number(10, 50, required=True),
        "A day counts as a heat day from this maximum, in degrees C.",
    ),
    "gap_days": Setting(
        lambda: 21,
        whole(3, 120, required=True),
        "Days without a measurement after which the season shows a gap.",
    ),
    "not_seen_days": Setting(
        lambda: 14,
        whole(1, 120, required=True),
        "Days without a photo after which a planting is named on Today.",
    ),
    "paper": Setting(lambda: "a4", one_of("a4", "letter", required=True), "Paper for printed cards: a4 or letter."),
}
