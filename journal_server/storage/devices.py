"""Reading and writing devices and pairing codes within a session that the caller opened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from journal_server.storage.tables import DeviceRow, PairingCodeRow, WrongPairingRow


@dataclass(frozen=True)
class Device:
    """A device as read. Moments are ISO 8601 in UTC."""

    id: str
    name: str
    role: str
    created_at: str
    last_used_at: str
    revoked_at: str | None


def _device(row: DeviceRow) -> Device:
    return Device(row.id, row.name, row.role, row.created_at, row.last_used_at, row.revoked_at)


def add_device(session: Session, device: Device, key_hash: str) -> None:
    session.add(
        DeviceRow(
            id=device.id,
            name=device.name,
            role=device.role,
            key_hash=key_hash,
            created_at=device.created_at,
            last_used_at=device.last_used_at,
            revoked_at=device.revoked_at,
        )
    )
    session.flush()


def device_with_key(session: Session, key_hash: str) -> Device | None:
    row = session.scalars(select(DeviceRow).where(DeviceRow.key_hash == key_hash)).one_or_none()
    return _device(row) if row else None


def load_device(session: Session, device_id: str) -> Device | None:
    row = session.get(DeviceRow, device_id)
    return _device(row) if row else None


def all_devices(session: Session) -> list[Device]:
    return [_device(row) for row in session.scalars(select(DeviceRow).order_by(DeviceRow.created_at, DeviceRow.id))]


def set_device(session: Session, device_id: str, **columns: str) -> None:
    session.execute(update(DeviceRow).where(DeviceRow.id == device_id).values(**columns))


def add_pairing_code(session: Session, row: PairingCodeRow) -> None:
    session.add(row)
    session.flush()


def open_pairing_codes(session: Session) -> Sequence[PairingCodeRow]:
    """The codes in order of their end, held against other transactions until this one ends."""
    order = (PairingCodeRow.expires_at, PairingCodeRow.id)
    return session.scalars(select(PairingCodeRow).order_by(*order).with_for_update()).all()


def drop_pairing_codes(session: Session, code_ids: Sequence[str]) -> None:
    session.execute(delete(PairingCodeRow).where(PairingCodeRow.id.in_(code_ids)))


def drop_expired_pairing_codes(session: Session, now: str) -> None:
    session.execute(delete(PairingCodeRow).where(PairingCodeRow.expires_at <= now))


def count_wrong_try(session: Session, try_id: str, address: str, now: str) -> None:
    """Note the try against its address and against every open code."""
    session.add(WrongPairingRow(id=try_id, address=address, tried_at=now))
    session.execute(update(PairingCodeRow).values(wrong_tries=PairingCodeRow.wrong_tries + 1))


def wrong_tries_from(session: Session, address: str, after: str) -> int:
    """How many wrong codes came from the address after the moment; older ones of any address are forgotten."""
    session.execute(delete(WrongPairingRow).where(WrongPairingRow.tried_at <= after))
    counted = select(func.count()).select_from(WrongPairingRow).where(WrongPairingRow.address == address)
    return session.execute(counted).scalar_one()
