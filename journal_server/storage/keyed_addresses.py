"""Reading and writing addresses that carry a key, within a session that the caller opened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from journal_server.storage.tables import KeyedAddressRow, ReportCopyRow


@dataclass(frozen=True)
class KeyedAddress:
    """An address as read; its key is not kept, only its hash. ``opens`` says what kind of thing, ``details`` which.

    Moments are ISO 8601 in UTC, ``last_day`` is a day in the garden.
    """

    id: str
    opens: str
    name: str
    trial_id: str
    created_at: str
    details: Mapping[str, Any]
    last_day: str | None = None
    last_used_at: str | None = None
    revoked_at: str | None = None


def _address(row: KeyedAddressRow) -> KeyedAddress:
    return KeyedAddress(
        row.id,
        row.opens,
        row.name,
        row.trial_id,
        row.created_at,
        row.details,
        row.last_day,
        row.last_used_at,
        row.revoked_at,
    )


def add_keyed_address(session: Session, address: KeyedAddress, key_hash: str) -> None:
    session.add(
        KeyedAddressRow(
            id=address.id,
            opens=address.opens,
            name=address.name,
            trial_id=address.trial_id,
            key_hash=key_hash,
            details=dict(address.details),
            created_at=address.created_at,
            last_day=address.last_day,
        )
    )
    session.flush()


def address_with_key(session: Session, opens: str, key_hash: str) -> KeyedAddress | None:
    found = select(KeyedAddressRow).where(KeyedAddressRow.key_hash == key_hash, KeyedAddressRow.opens == opens)
    row = session.scalars(found).one_or_none()
    return _address(row) if row else None


def load_keyed_address(session: Session, opens: str, address_id: str) -> KeyedAddress | None:
    row = session.get(KeyedAddressRow, address_id)
    return _address(row) if row and row.opens == opens else None


def all_keyed_addresses(session: Session, opens: str) -> list[KeyedAddress]:
    order = (KeyedAddressRow.created_at, KeyedAddressRow.id)
    rows: Sequence[KeyedAddressRow] = session.scalars(
        select(KeyedAddressRow).where(KeyedAddressRow.opens == opens).order_by(*order)
    ).all()
    return [_address(row) for row in rows]


def set_keyed_address(session: Session, address_id: str, **columns: Any) -> None:
    session.execute(update(KeyedAddressRow).where(KeyedAddressRow.id == address_id).values(**columns))


def keep_report_copy(session: Session, address_id: str, form: str, content: bytes) -> None:
    """Put the copy of a report in this form in the place of the one before, if there is one."""
    session.merge(ReportCopyRow(address_id=address_id, form=form, content=content))


def load_report_copy(session: Session, address_id: str, form: str) -> bytes | None:
    row = session.get(ReportCopyRow, (address_id, form))
    return row.content if row else None


def drop_report_copies(session: Session, address_id: str) -> None:
    session.execute(delete(ReportCopyRow).where(ReportCopyRow.address_id == address_id))
