"""Pairing: a short code, shown on a screen that is trusted already, lets one device in and is used up by it."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from journal_server.domain.pairing_codes import new_pairing_code, typed_pairing_code
from journal_server.domain.roles import ROLES
from journal_server.errors import InputRefused, JournalError, TooManyTries
from journal_server.services.devices import NewDevice, enter_device, in_utc
from journal_server.services.journal import Journal
from journal_server.storage.devices import (
    add_pairing_code,
    count_wrong_try,
    drop_expired_pairing_codes,
    drop_pairing_codes,
    open_pairing_codes,
    wrong_tries_from,
)
from journal_server.storage.tables import PairingCodeRow

LASTS = timedelta(minutes=10)
MOST_OPEN_CODES = 5
WRONG_TRIES_WINDOW = timedelta(minutes=1)
MOST_WRONG_TRIES_OF_AN_ADDRESS = 5
MOST_WRONG_TRIES_OF_A_CODE = 20

CODE_WRONG = (
    "This code does not fit, has been used, or is older than ten minutes. Look at it again, or have a new one made "
    "on the journal's own computer, under Set-up, Phones."
)


@dataclass(frozen=True)
class PairingCode:
    """A code as it is shown once; only its hash is kept."""

    code: str
    role: str
    expires_at: str


def make_pairing_code(journal: Journal, role: object, now: datetime) -> PairingCode:
    """A new code for one device; where five are open already, the one that ends first is dropped."""
    checked = _role(role)
    code, salt = new_pairing_code(secrets.choice), secrets.token_hex(16)
    expires_at = in_utc(now + LASTS)
    row = PairingCodeRow(
        id=str(uuid.uuid4()),
        salt=salt,
        code_hash=_slow_hash(code, salt),
        role=checked,
        expires_at=expires_at,
        wrong_tries=0,
    )
    with journal.database.writing() as session:
        drop_expired_pairing_codes(session, in_utc(now))
        still_open = open_pairing_codes(session)
        too_many = max(0, len(still_open) - MOST_OPEN_CODES + 1)
        drop_pairing_codes(session, [one.id for one in still_open[:too_many]])
        add_pairing_code(session, row)
    return PairingCode(code, checked, expires_at)


def pair_device(journal: Journal, code: object, name: object, address: str, now: datetime) -> NewDevice:
    """Let a device in by its code; all in one transaction, so that a code lets in one device, however many ask."""
    if not isinstance(code, str) or not code.strip():
        raise InputRefused("Type the code.", "code")
    refusal: JournalError | None = None
    with journal.database.writing() as session:
        _refuse_when_too_many(session, address, now)
        drop_expired_pairing_codes(session, in_utc(now))
        found = _code_that_fits(session, typed_pairing_code(code[:40]))
        if found is None:
            # The refusal is raised outside, so that the wrong try stays counted.
            refusal = _count_wrong(session, address, now)
        else:
            device = enter_device(session, name, found.role, now)
            drop_pairing_codes(session, [found.id])
    if refusal is not None:
        raise refusal
    return device


def _role(given: object) -> str:
    if given not in ROLES:
        raise InputRefused(f"The role must be one of: {', '.join(ROLES)}.", "role")
    return str(given)


def _refuse_when_too_many(session: Session, address: str, now: datetime) -> None:
    if wrong_tries_from(session, address, in_utc(now - WRONG_TRIES_WINDOW)) >= MOST_WRONG_TRIES_OF_AN_ADDRESS:
        raise TooManyTries("Too many wrong codes. Wait a minute, then type it again.")


def _count_wrong(session: Session, address: str, now: datetime) -> JournalError:
    count_wrong_try(session, str(uuid.uuid4()), address, in_utc(now))
    session.expire_all()
    still_open = open_pairing_codes(session)
    if any(one.wrong_tries >= MOST_WRONG_TRIES_OF_A_CODE for one in still_open):
        drop_pairing_codes(session, [one.id for one in still_open])
    return InputRefused(CODE_WRONG, "code")


def _code_that_fits(session: Session, typed: str) -> PairingCodeRow | None:
    """Every open code is compared, each in constant time, so that the time taken says nothing about them."""
    open_now = open_pairing_codes(session)
    fits = [one for one in open_now if hmac.compare_digest(one.code_hash, _slow_hash(typed, one.salt))]
    return fits[0] if fits else None


def _slow_hash(code: str, salt: str) -> str:
    """Slow, because a code is short: whoever reads the database or a backup cannot search it within its ten minutes."""
    return hashlib.scrypt(code.encode(), salt=bytes.fromhex(salt), n=2**14, r=8, p=1, dklen=32).hex()
