"""What went where, in lines for the terminal: by planting in walking order, each doubt once for all its photos."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from journal_server.services.journal import Journal
from journal_server.storage.records import Record, current_measurements, load_record

WIDTH = 80
SHOWN = (("canopy_fill", "canopy fill"), ("bloom_cover", "bloom cover"), ("spent_share", "spent"))
NAMED_AT_ONCE = 6


@dataclass(frozen=True)
class _Taken:
    """One photo, what it was called now, and its numbers where it has been measured."""

    name: str
    photo: Record
    numbers: dict[str, Any] | None

    @property
    def is_settled(self) -> bool:
        return bool(self.photo.fields["planting_id"])

    @property
    def target_id(self) -> str | None:
        target: str | None = self.photo.fields["planting_id"] or self.photo.fields["suggested_planting_id"]
        return target


def describe_intake(journal: Journal, outcomes: Sequence[tuple[str, str, str]]) -> list[str]:
    """Where each photo went, what is doubtful and why, and its numbers, from (name, photo id, outcome)."""
    first_names: dict[str, str] = {}
    for name, photo_id, outcome in outcomes:
        if outcome == "taken in":
            first_names[photo_id] = name
    with journal.database.reading() as session:
        measured = current_measurements(session, list(first_names))
        taken = [
            _Taken(name, photo, measured[photo_id]["fields"]["numbers"] if photo_id in measured else None)
            for photo_id, name in first_names.items()
            if (photo := load_record(session, photo_id)) is not None
        ]
        taken.sort(key=lambda one: (one.photo.fields["taken_at"] or "", one.name))
        again = [
            (name, load_record(session, photo_id)) for name, photo_id, outcome in outcomes if outcome != "taken in"
        ]
        return [
            *_by_planting(session, [one for one in taken if one.is_settled]),
            *_to_settle(session, [one for one in taken if not one.is_settled]),
            *_doubts(taken),
            *_already_here(again),
        ]


def _by_planting(session: Session, taken: Sequence[_Taken]) -> list[str]:
    groups: dict[str, list[_Taken]] = {}
    for one in taken:
        groups.setdefault(str(one.target_id), []).append(one)
    lines: list[str] = []
    for planting_id in sorted(groups, key=lambda one: _walk_order(session, one)):
        reasons = {one.photo.fields["match_reason"] for one in groups[planting_id]}
        heading = f"{planting_name(session, planting_id)}: {reasons.pop() if len(reasons) == 1 else ''}".rstrip(": ")
        lines += ["", *_wrapped(heading, hang=2)]
        for one in groups[planting_id]:
            lines += _wrapped(f"{_when(one)}: {_leading_numbers(one)}", indent=2)
            if reasons:
                lines += _wrapped(one.photo.fields["match_reason"], indent=6)
    return lines


def _to_settle(session: Session, taken: Sequence[_Taken]) -> list[str]:
    groups: dict[tuple[str | None, str], list[_Taken]] = {}
    for one in taken:
        groups.setdefault((planting_name(session, one.target_id), one.photo.fields["match_reason"]), []).append(one)
    lines = ["", f"To be settled in the journal ({len(taken)}):"] if taken else []
    for (target, reason), photos in groups.items():
        lines += _wrapped(f"Perhaps {target}. {reason}" if target else reason, indent=2, hang=2)
        for one in photos:
            lines += _wrapped(f"{_when(one)}: {_leading_numbers(one)}", indent=4)
    return lines


def _doubts(taken: Sequence[_Taken]) -> list[str]:
    """Each warning, with the photos that it is about."""
    about: dict[str, list[str]] = {}
    for one in taken:
        fields = one.photo.fields
        warnings = one.numbers["quality"]["warnings"] if one.numbers else []
        said = [w["message"] for w in warnings if w["code"] != "time_doubtful"]
        if fields["taken_at_doubtful"]:
            said.append(f"The date is doubtful. {fields['moment_note'] or ''}".strip())
        if fields["measuring"] == "failed":
            said.append(f"Not measured: {fields['measuring_note']}")
        for words in said:
            about.setdefault(words, []).append(one.name)
    if not about:
        return []
    lines = ["", "Doubtful:"]
    for words, names in sorted(about.items(), key=lambda pair: -len(pair[1])):
        whose = f"all {len(names)} photos" if len(names) == len(taken) > 1 else _names(names)
        lines += _wrapped(f"{words} [{whose}]", indent=2)
    return lines


def _already_here(again: Sequence[tuple[str, Record | None]]) -> list[str]:
    if not again:
        return []
    names = [
        name if photo is None or photo.fields["file_name"] == name else f"{name} (as {photo.fields['file_name']})"
        for name, photo in again
    ]
    return ["", *_wrapped(f"Already here, not taken in again: {_names(names)}", hang=2)]


def _names(names: Sequence[str]) -> str:
    count = f"{len(names)} photos: " if len(names) > 1 else ""
    more = f" and {len(names) - NAMED_AT_ONCE} more" if len(names) > NAMED_AT_ONCE else ""
    return f"{count}{', '.join(names[:NAMED_AT_ONCE])}{more}"


def _when(one: _Taken) -> str:
    taken_at = one.photo.fields["taken_at"]
    return f"{one.name}  {taken_at[:16].replace('T', ' ') if taken_at else 'moment unknown'}"


def _leading_numbers(one: _Taken) -> str:
    if one.numbers is None:
        return "not measured" if one.photo.fields["measuring"] == "failed" else "waits to be measured"
    return ", ".join(
        _share(one.numbers, name, words) for name, words in (("canopy_fill", "fill"), ("bloom_cover", "bloom"))
    )


def _share(numbers: dict[str, Any], name: str, words: str) -> str:
    estimate = numbers.get(name)
    if not estimate:
        return f"{words} unknown"
    return f"{words} {100 * estimate['value']:.0f} % ({100 * estimate['low']:.0f}-{100 * estimate['high']:.0f})"


def _walk_order(session: Session, planting_id: str) -> tuple[float, str]:
    planting = load_record(session, planting_id)
    planter = load_record(session, planting.fields["planter_id"]) if planting else None
    return (planter.fields["walk_order"] or 0.0 if planter else 0.0, planting_id)


def planting_name(session: Session, planting_id: str | None) -> str | None:
    planting = load_record(session, planting_id) if planting_id else None
    if planting is None:
        return None
    cultivar = load_record(session, planting.fields["cultivar_id"])
    planter = load_record(session, planting.fields["planter_id"])
    assert cultivar is not None
    assert planter is not None
    return f"{cultivar.fields['genus']} '{cultivar.fields['name']}' in {planter.fields['name']}"


def _wrapped(words: str, indent: int = 0, hang: int = 4) -> Iterable[str]:
    return textwrap.wrap(
        words,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    )


def describe_numbers(numbers: dict[str, Any]) -> str:
    """The shares of a measurement with their intervals, in words; what could not be had with its reason."""
    parts = [
        _share(numbers, name, words)
        if numbers.get(name)
        else f"{words}: {numbers['reasons'].get(name, 'not measured')}"
        for name, words in SHOWN
    ]
    if numbers.get("bloom_colour"):
        parts.append(f"bloom {numbers['bloom_colour']['hex']}")
    warnings = [w["message"] for w in numbers["quality"]["warnings"]]
    return "; ".join(parts) + (". " + " ".join(warnings) if warnings else "")
