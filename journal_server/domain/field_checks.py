"""What a field accepts: each check gives back the value in its one written form, or refuses it with a sentence."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from journal_server.domain.cards import is_card_code, normal_card_code
from journal_server.errors import InputRefused

Check = Callable[[Any], Any]

EARLIEST_YEAR, LATEST_YEAR = 1990, 2100


def text(longest: int, required: bool = False) -> Check:
    def check(value: Any) -> str | None:
        if value is None or (isinstance(value, str) and not value.strip()):
            if required:
                raise InputRefused("This needs a few words.")
            return None
        if not isinstance(value, str):
            raise InputRefused(f"This must be text, not {shown(value)}.")
        cleaned = "".join(c for c in value if c in "\n\t" or ord(c) >= 32).strip()
        if any(0xD800 <= ord(c) <= 0xDFFF for c in cleaned):
            raise InputRefused("This text holds characters that are not valid Unicode.")
        if len(cleaned) > longest:
            raise InputRefused(f"This is {len(cleaned)} characters long; at most {longest} fit.")
        return cleaned

    return check


def whole(least: int, most: int, required: bool = False) -> Check:
    def check(value: Any) -> int | None:
        if value is None or value == "":
            _refuse_missing(required, "a whole number")
            return None
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise InputRefused(f"This must be a whole number, not {shown(value)}.")
        try:
            number = float(value)
            if number != int(number):
                raise ValueError
        except (ValueError, OverflowError):
            raise InputRefused(f"This must be a whole number, not {shown(value)}.") from None
        if not least <= number <= most:
            raise InputRefused(f"This must be from {least} to {most}, not {shown(value)}.")
        return int(number)

    return check


def number(least: float, most: float, required: bool = False, unit: str = "") -> Check:
    """``unit``: said in a refusal, since who typed it may have done so in another one."""
    of_unit = f" {unit}" if unit else ""

    def check(value: Any) -> float | None:
        if value is None or value == "":
            _refuse_missing(required, "a number")
            return None
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise InputRefused(f"This must be a number, not {shown(value)}.")
        try:
            parsed = float(value)
        except (ValueError, OverflowError):
            raise InputRefused(f"This must be a number, not {shown(value)}.") from None
        if not least <= parsed <= most:
            says = f"This must be from {least:g} to {most:g}{of_unit}, not {shown(value)}{of_unit}."
            raise InputRefused(says)
        return parsed

    return check


def yes_or_no(value: Any) -> bool:
    if value is None:
        return False
    if not isinstance(value, bool):
        raise InputRefused(f"This must be yes or no (true or false), not {shown(value)}.")
    return value


def one_of(*choices: str, required: bool = False) -> Check:
    def check(value: Any) -> str | None:
        if value is None or value == "":
            _refuse_missing(required, f"one of: {', '.join(choices)}")
            return None
        if value not in choices:
            raise InputRefused(f"This must be one of: {', '.join(choices)}; not {shown(value)}.")
        return str(value)

    return check


def day(required: bool = False) -> Check:
    def check(value: Any) -> str | None:
        if value is None or value == "":
            _refuse_missing(required, "a date")
            return None
        if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
            raise InputRefused(f"This must be a date like 2026-05-16, not {shown(value)}.")
        try:
            parsed = date.fromisoformat(value)
        except ValueError:
            raise InputRefused(f"There is no such day as {shown(value)}.") from None
        if not EARLIEST_YEAR <= parsed.year <= LATEST_YEAR:
            raise InputRefused(f"The year must be from {EARLIEST_YEAR} to {LATEST_YEAR}, not {parsed.year}.")
        return value

    return check


def moment(value: Any) -> str | None:
    if value is None or value == "":
        return None
    try:
        parsed = datetime.fromisoformat(value)
    except (ValueError, TypeError):
        raise InputRefused(f"This must be a moment like 2026-06-12T10:14:03+01:00, not {shown(value)}.") from None
    if parsed.tzinfo is None:
        raise InputRefused("This moment needs its offset from UTC, for example +01:00.")
    if not EARLIEST_YEAR <= parsed.year <= LATEST_YEAR:
        raise InputRefused(f"The year must be from {EARLIEST_YEAR} to {LATEST_YEAR}, not {parsed.year}.")
    return parsed.isoformat(timespec="seconds")


def colours(value: Any) -> list[str]:
    if value is None or value == "":
        return []
    if not isinstance(value, list) or len(value) > 8:
        raise InputRefused("This must be a list of at most 8 colours like #7a3fa6.")
    for colour in value:
        if not isinstance(colour, str) or not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
            raise InputRefused(f"A colour looks like #7a3fa6; {shown(colour)} does not.")
    return [colour.lower() for colour in value]


def identifier(required: bool = False) -> Check:
    def check(value: Any) -> str | None:
        if value is None or value == "":
            _refuse_missing(required, "a choice")
            return None
        return record_id(value)

    return check


def record_id(value: Any) -> str:
    """A record's id in its one written form, or InputRefused."""
    try:
        return str(uuid.UUID(value)) if isinstance(value, str) and len(value) == 36 else _not_an_id(value)
    except ValueError:
        return _not_an_id(value)


def polygon(value: Any) -> list[list[float]]:
    """Three to 40 corners in displayed pixels, in order, enclosing an area."""
    if not isinstance(value, list) or not 3 <= len(value) <= 40:
        raise InputRefused("A frame has 3 to 40 corners.")
    corners: list[list[float]] = []
    for corner in value:
        numbers = corner if isinstance(corner, list) and len(corner) == 2 else []
        if not numbers or any(isinstance(n, bool) or not isinstance(n, int | float) for n in numbers):
            raise InputRefused(f"A corner is two numbers [x, y]; {shown(corner)} is not.")
        if not all(abs(n) <= 100_000 for n in numbers):
            raise InputRefused(f"The corner {shown(corner)} lies too far outside any photo.")
        corners.append([round(float(n), 2) for n in numbers])
    following = corners[1:] + corners[:1]
    doubled = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, following, strict=True))
    if abs(doubled) < 200:
        raise InputRefused("These corners enclose no area; draw the frame around where the planting should fill.")
    return corners


def card_code(value: Any) -> str | None:
    if value is None or value == "":
        return None
    code = normal_card_code(value) if isinstance(value, str) else ""
    if not is_card_code(code):
        raise InputRefused(
            f"A card code looks like TAG-7K3Q9M (TAG- and six digits or capitals, no I, L, O or U); "
            f"{shown(value)} does not."
        )
    return code


def _refuse_missing(required: bool, what: str) -> None:
    if required:
        raise InputRefused(f"This is needed: {what}.")


def _not_an_id(value: Any) -> str:
    raise InputRefused(f"This must be the id of a record (a UUID), not {shown(value)}.")


def shown(value: Any) -> str:
    """A received value for a sentence, cut where it is long."""
    words = repr(value)
    return words if len(words) <= 60 else words[:57] + "..."
