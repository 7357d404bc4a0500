"""Reading and writing the keys of calendar addresses within a session that the caller opened."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from journal_server.storage.tables import CalendarKeyRow


@dataclass(frozen=True)
class CalendarKey:
    """A key as read; the key itself is not kept, only its hash. Moments are ISO 8601 in UTC."""

    id: str
    name: str
    trial_id: str
    created_at: str
    last_used_at: str | None
    revoked_at: str | None


def _key(row: CalendarKeyRow) -> CalendarKey:
    return CalendarKey(row.id, row.name, row.trial_id, row.created_at, row.last_used_at, row.revoked_at)


def add_calendar_key(session: Session, key: CalendarKey, key_hash: str) -> None:
    session.add(
        CalendarKeyRow(
            id=key.id, name=key.name, trial_id=key.trial_id, key_hash=key_hash, created_at=key.created_at,
            last_used_at=key.last_used_at, revoked_at=key.revoked_at,
        )
    )  # fmt: skip
    session.flush()


def calendar_key_with_hash(session: Session, key_hash: str) -> CalendarKey | None:
    row = session.scalars(select(CalendarKeyRow).where(CalendarKeyRow.key_hash == key_hash)).one_or_none()
    return _key(row) if row else None


def load_calendar_key(session: Session, key_id: str) -> CalendarKey | None:
    row = session.get(CalendarKeyRow, key_id)
    return _key(row) if row else None


def all_calendar_keys(session: Session) -> list[CalendarKey]:
    order = (CalendarKeyRow.created_at, CalendarKeyRow.id)
    return [_key(row) for row in session.scalars(select(CalendarKeyRow).order_by(*order))]


def set_calendar_key(session: Session, key_id: str, **columns: str) -> None:
    session.execute(update(CalendarKeyRow).where(CalendarKeyRow.id == key_id).values(**columns))
