"""Addresses that open one thing without a device's key: each carries a key of its own, and is closed at once.

They are for programs and people that cannot be paired: a calendar program (one trial's care), a reader (one report).
"""

from __future__ import annotations

import hashlib
import secrets
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.field_checks import Check, day, text
from journal_server.errors import InputRefused, JournalBusy, NotFound, NotPaired, TooManyTries
from journal_server.services.devices import in_utc
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.storage.keyed_addresses import (
    KeyedAddress,
    add_keyed_address,
    address_with_key,
    all_keyed_addresses,
    drop_report_copies,
    load_keyed_address,
    set_keyed_address,
)

CALENDAR = "calendar"
REPORT = "report"
KEY_BYTES = 32
LONGEST_KEY = 200
LAST_USE_EVERY = timedelta(minutes=10)
NOT_OPEN = {
    CALENDAR: "This calendar address is not open, or not any more. Make a new one under Set-up, Calendar.",
    REPORT: "This report is not open here, or not any more. Ask whoever gave you its address for a new one.",
}


@dataclass(frozen=True)
class NewAddress:
    """An address just made, and its key; told once, since only its hash is kept."""

    kept: KeyedAddress
    key: str


def make_address(
    session: Session,
    opens: str,
    named: object,
    trial_id: object,
    now: datetime,
    *,
    details: Mapping[str, Any] | None = None,
    last_day: object = None,
) -> NewAddress:
    """Make a key, within the transaction that the caller opened."""
    if not isinstance(trial_id, str):
        raise InputRefused("Choose the trial first.", "trial_id")
    name, until = checked_words(named, last_day)
    key = secrets.token_urlsafe(KEY_BYTES)
    kept = KeyedAddress(str(uuid.uuid4()), opens, name, trial_id, in_utc(now), details or {}, until)
    existing(session, "trial", trial_id)
    add_keyed_address(session, kept, _hash(key))
    return NewAddress(kept, key)


def checked_words(named: object, last_day: object) -> tuple[str, str | None]:
    """What a person says of an address: for whom it is and until when it is open. Raises InputRefused."""
    return _checked(text(60, required=True), named, "name"), _checked(day(), last_day, "last_day")


def addresses(journal: Journal, opens: str) -> list[KeyedAddress]:
    with journal.database.reading() as session:
        return all_keyed_addresses(session, opens)


def close_address(journal: Journal, opens: str, address_id: str, now: datetime) -> None:
    """It opens nothing from now on, and what was kept for it goes; doing it again changes nothing."""
    with journal.database.writing() as session:
        if known_address(session, opens, address_id).revoked_at is None:
            set_keyed_address(session, address_id, revoked_at=in_utc(now))
            drop_report_copies(session, address_id)


def known_address(session: Session, opens: str, address_id: str) -> KeyedAddress:
    known = load_keyed_address(session, opens, address_id)
    if known is None:
        raise NotFound("There is no such address.")
    return known


def opened_by(journal: Journal, opens: str, key: str, asked_from: str, now: datetime) -> KeyedAddress:
    """The address that the key belongs to; a revoked, ended or unknown key opens none.

    ``asked_from`` is the caller's network address: after too many wrong keys it is not listened to for a while.
    """
    if journal.wrong_keys.too_many(asked_from):
        raise TooManyTries("Too many addresses that do not open were asked for from here. Wait a minute.")
    known = None
    if len(key) <= LONGEST_KEY:
        with journal.database.reading() as session:
            known = address_with_key(session, opens, _hash(key))
    if known is None or known.revoked_at is not None or is_over(journal, known):
        journal.wrong_keys.count(asked_from)
        raise NotPaired(NOT_OPEN[opens])
    if known.last_used_at is None or now - datetime.fromisoformat(known.last_used_at) > LAST_USE_EVERY:
        _note_use(journal, known, now)
    return known


def is_over(journal: Journal, address: KeyedAddress) -> bool:
    return address.last_day is not None and journal.today().isoformat() > address.last_day


def _note_use(journal: Journal, address: KeyedAddress, now: datetime) -> None:
    try:
        with journal.database.writing() as session:
            set_keyed_address(session, address.id, last_used_at=in_utc(now))
    except JournalBusy:
        # When it was last used matters less than what was asked for.
        return


def _checked(check: Check, given: object, field: str) -> Any:
    try:
        return check(given)
    except InputRefused as error:
        raise InputRefused(str(error), field) from None


def _hash(key: str) -> str:
    """A plain SHA-256: a key is 256 random bits, so there is nothing that a slow hash would keep from being guessed."""
    return hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
