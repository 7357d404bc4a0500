"""What went where, in lines for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from journal_server.services.journal import Journal
from journal_server.storage.records import current_measurements, load_record

SHOWN = (("canopy_fill", "canopy fill"), ("bloom_cover", "bloom cover"), ("spent_share", "spent"))
STATES = {"matched": "->", "suggested": "?>", "question": "??", "set by hand": "->", "set aside": "--"}


def describe_intake(journal: Journal, outcomes: Sequence[tuple[str, str, str]]) -> list[str]:
    """Where each photo went, what is doubtful and why, and its numbers, from (name, photo id, outcome)."""
    lines = []
    with journal.database.reading() as session:
        measured = current_measurements(session, [photo_id for _, photo_id, _ in outcomes])
        for name, photo_id, outcome in outcomes:
            photo = load_record(session, photo_id)
            assert photo is not None
            fields = photo.fields
            target = _planting_name(session, fields["planting_id"] or fields["suggested_planting_id"])
            when = (fields["taken_at"] or "moment unknown")[:16].replace("T", " ")
            doubt = " (date doubtful)" if fields["taken_at_doubtful"] else ""
            again = "already here; " if outcome == "already here" else ""
            went = f"{STATES[fields['match']]} {target or 'no planting'}. {fields['match_reason']}"
            lines.append(f"{name}: {again}{when}{doubt} {went}")
            if outcome == "already here":
                continue
            if photo_id in measured:
                lines.append(f"    {describe_numbers(measured[photo_id]['fields']['numbers'])}")
            elif fields["measuring_note"]:
                lines.append(f"    not measured: {fields['measuring_note']}")
    return lines


def _planting_name(session: Any, planting_id: str | None) -> str | None:
    planting = load_record(session, planting_id) if planting_id else None
    if planting is None:
        return None
    cultivar = load_record(session, planting.fields["cultivar_id"])
    planter = load_record(session, planting.fields["planter_id"])
    assert cultivar is not None
    assert planter is not None
    return f"{cultivar.fields['genus']} '{cultivar.fields['name']}' in {planter.fields['name']}"


def describe_numbers(numbers: dict[str, Any]) -> str:
    """The shares of a measurement with their intervals, in words; what could not be had with its reason."""
    parts = []
    for name, words in SHOWN:
        estimate = numbers.get(name)
        if estimate:
            parts.append(
                f"{words} {100 * estimate['value']:.0f} % ({100 * estimate['low']:.0f}-{100 * estimate['high']:.0f})"
            )
        else:
            parts.append(f"{words}: {numbers['reasons'].get(name, 'not measured')}")
    if numbers.get("bloom_colour"):
        parts.append(f"bloom {numbers['bloom_colour']['hex']}")
    warnings = [w["message"] for w in numbers["quality"]["warnings"]]
    return "; ".join(parts) + (". " + " ".join(warnings) if warnings else "")
