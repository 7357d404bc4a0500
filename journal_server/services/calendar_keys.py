"""Addresses for calendar programs: each carries a key that opens one trial's care calendar and nothing else."""

from __future__ import annotations

import hashlib
import secrets
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from journal_server.domain.field_checks import text
from journal_server.errors import InputRefused, NotFound, NotPaired
from journal_server.services.devices import in_utc
from journal_server.services.journal import Journal
from journal_server.services.weather import load_trial
from journal_server.storage.calendar_keys import (
    CalendarKey,
    add_calendar_key,
    all_calendar_keys,
    calendar_key_with_hash,
    load_calendar_key,
    set_calendar_key,
)

KEY_BYTES = 32
LONGEST_KEY = 200
LAST_USE_EVERY = timedelta(minutes=10)
NOT_OPEN = "This calendar address is not open, or not any more. Make a new one under Set-up, Calendar."


@dataclass(frozen=True)
class NewCalendarKey:
    """A key just made; told once, since only its hash is kept."""

    kept: CalendarKey
    key: str


def make_calendar_key(journal: Journal, trial_id: object, name: object, now: datetime) -> NewCalendarKey:
    if not isinstance(trial_id, str):
        raise InputRefused("Choose the trial first.", "trial_id")
    try:
        named = text(60, required=True)(name)
    except InputRefused as error:
        raise InputRefused(str(error), "name") from None
    key = secrets.token_urlsafe(KEY_BYTES)
    kept = CalendarKey(str(uuid.uuid4()), named, trial_id, in_utc(now), None, None)
    with journal.database.writing() as session:
        load_trial(session, trial_id)
        add_calendar_key(session, kept, _hash(key))
    return NewCalendarKey(kept, key)


def calendar_keys(journal: Journal) -> list[CalendarKey]:
    with journal.database.reading() as session:
        return all_calendar_keys(session)


def revoke_calendar_key(journal: Journal, key_id: str, now: datetime) -> None:
    with journal.database.writing() as session:
        known = load_calendar_key(session, key_id)
        if known is None:
            raise NotFound("There is no such calendar address.")
        if known.revoked_at is None:
            set_calendar_key(session, key_id, revoked_at=in_utc(now))


def trial_of_key(journal: Journal, key: str, now: datetime) -> str:
    """The one trial whose calendar the key opens; a revoked or unknown key opens none."""
    with journal.database.reading() as session:
        known = calendar_key_with_hash(session, _hash(key)) if len(key) <= LONGEST_KEY else None
    if known is None or known.revoked_at is not None:
        raise NotPaired(NOT_OPEN)
    if known.last_used_at is None or now - datetime.fromisoformat(known.last_used_at) > LAST_USE_EVERY:
        with journal.database.writing() as session:
            set_calendar_key(session, known.id, last_used_at=in_utc(now))
    return known.trial_id


def _hash(key: str) -> str:
    return hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
