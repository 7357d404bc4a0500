"""Questions of the set-up that need one column of many records: answered by the database, no record is built."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from journal_server.storage.tables import RecordRow


def card_codes_of_plantings(session: Session) -> set[str]:
    """Every code that a planting has, those of removed and deleted ones included."""
    code = RecordRow.fields["card_code"].as_string()
    return set(session.scalars(select(code).where(RecordRow.kind == "planting", code.is_not(None)).distinct()))


def card_codes_in_photos(session: Session) -> set[str]:
    """Every code that is the only one read in a photo, whether a planting has it or not."""
    code = RecordRow.fields["tag"].as_string()
    return set(session.scalars(select(code).where(RecordRow.kind == "photo", code.is_not(None)).distinct()))


def last_in_walking_order(session: Session) -> float:
    """The highest number on the walk that a planter has; 0 where none has one."""
    order = RecordRow.fields["walk_order"].as_float()
    query = select(func.max(order)).where(RecordRow.kind == "planter", RecordRow.deleted.is_(False))
    return session.scalar(query) or 0.0
