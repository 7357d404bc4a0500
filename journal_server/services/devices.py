"""Paired devices: each has its own key, is known by the key's hash, and can be shut out at once."""

from __future__ import annotations

import hashlib
import secrets
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy.orm import Session

from journal_server.domain.field_checks import text
from journal_server.errors import InputRefused, JournalBusy, NotFound, NotPaired
from journal_server.services.journal import Journal
from journal_server.storage.devices import (
    Device,
    add_device,
    all_devices,
    device_with_key,
    load_device,
    set_device,
)

KEY_BYTES = 32
LAST_USE_EVERY = timedelta(minutes=1)
LONGEST_KEY = 200

NEVER_PAIRED = "This device is not paired with the journal. What is kept on it stays on it; pair it to go on."
SHUT_OUT = "This device's access was taken back. What is kept on it stays on it; pair it again to go on."


@dataclass(frozen=True)
class NewDevice:
    """A device just paired, and its key, which is not kept here and is told once."""

    device: Device
    key: str


def in_utc(moment: datetime) -> str:
    """ISO 8601 in UTC to the microsecond: text of one length, which sorts as the moments do."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def enter_device(session: Session, name: object, role: str, now: datetime) -> NewDevice:
    """Make a key for a new device, within the transaction that the caller opened."""
    key = secrets.token_urlsafe(KEY_BYTES)
    entered = in_utc(now)
    device = Device(str(uuid.uuid4()), _name(name, "device_name"), role, entered, entered, None)
    add_device(session, device, _key_hash(key))
    return NewDevice(device, key)


def device_of_key(journal: Journal, key: str | None, now: datetime) -> Device:
    """Whose key this is; a revoked device is refused from the moment it was revoked."""
    if not key or len(key) > LONGEST_KEY:
        raise NotPaired(NEVER_PAIRED)
    with journal.database.reading() as session:
        device = device_with_key(session, _key_hash(key))
    if device is None:
        raise NotPaired(NEVER_PAIRED)
    if device.revoked_at is not None:
        raise NotPaired(SHUT_OUT)
    if now - datetime.fromisoformat(device.last_used_at) > LAST_USE_EVERY:
        _note_use(journal, device, now)
    return device


def devices(journal: Journal) -> list[Device]:
    with journal.database.reading() as session:
        return all_devices(session)


def rename_device(journal: Journal, device_id: str, name: object) -> None:
    checked = _name(name, "name")
    with journal.database.writing() as session:
        _known(session, device_id)
        set_device(session, device_id, name=checked)


def revoke_device(journal: Journal, device_id: str, now: datetime) -> None:
    """Shut the device out; doing it again changes nothing."""
    with journal.database.writing() as session:
        if _known(session, device_id).revoked_at is None:
            set_device(session, device_id, revoked_at=in_utc(now))


def _note_use(journal: Journal, device: Device, now: datetime) -> None:
    try:
        with journal.database.writing() as session:
            set_device(session, device.id, last_used_at=in_utc(now))
    except JournalBusy:
        # When a device was last used matters less than what it came for.
        return


def _known(session: Session, device_id: str) -> Device:
    device = load_device(session, device_id)
    if device is None:
        raise NotFound("There is no such device.")
    return device


def _name(given: object, field: str) -> str:
    try:
        checked: str = text(60, required=True)(given)
    except InputRefused as error:
        raise InputRefused(str(error), field) from None
    return checked


def _key_hash(key: str) -> str:
    """A plain SHA-256: a key is 256 random bits, so there is nothing that a slow hash would keep from being guessed."""
    return hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
