"""What a phone says beside the bytes it sends, and the receipt by which it may let go of its own copy."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from journal_server.domain.field_checks import identifier, moment, number, one_of
from journal_server.domain.records import HOW_TAKEN
from journal_server.errors import InputRefused, TransferDamaged
from journal_server.storage.records import Record

LONGEST_RECORDING_S = 86_400


@dataclass(frozen=True)
class FromPhone:
    """All of it may be missing. The moments are by the phone's clock, ``planting_id`` is a person's word."""

    id: str | None = None
    sha256: str | None = None
    visit_id: str | None = None
    planting_id: str | None = None
    taken_at: str | None = None
    recorded_at: str | None = None
    seconds: float | None = None
    how: str | None = None


NOTHING_SAID = FromPhone()

_CHECKS: dict[str, Callable[[Any], Any]] = {
    "id": identifier(),
    "sha256": lambda given: given.strip().lower() or None,
    "visit_id": identifier(),
    "planting_id": identifier(),
    "taken_at": moment,
    "recorded_at": moment,
    "seconds": number(0, LONGEST_RECORDING_S),
    "how": one_of(*HOW_TAKEN),
}


def said_by_phone(form: Mapping[str, str]) -> FromPhone:
    """The fields that came beside the bytes, each checked; the first wrong one is refused by its name."""
    said: dict[str, Any] = {}
    for name, check in _CHECKS.items():
        if name in form:
            try:
                said[name] = check(form[name])
            except InputRefused as error:
                raise InputRefused(str(error), name) from None
    return FromPhone(**said)


def hash_as_sent(content: bytes, said: FromPhone) -> str:
    """The SHA-256 of what arrived, or TransferDamaged where it is not what the phone sent."""
    arrived = hashlib.sha256(content).hexdigest()
    if said.sha256 and said.sha256 != arrived:
        raise TransferDamaged(
            "The file did not arrive as it was sent, so nothing was kept of it. It is safe where it is; send it again."
        )
    return arrived


def receipt(said: FromPhone, record: Record) -> dict[str, str]:
    """What the phone compares with its own entry before it lets go of it."""
    return {"id": said.id or record.id, "sha256": record.fields["sha256"]}


def clean_name(name: str, otherwise: str) -> str:
    """The last part of a file's name without characters that are not shown, or ``otherwise`` where nothing is left."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    clean = "".join(c for c in last if c.isprintable() and not 0xD800 <= ord(c) <= 0xDFFF).strip()
    return clean[:200] or otherwise
