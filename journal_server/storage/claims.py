"""Claims on photos that wait for measuring: of all processes on one database, one at a time has a photo.

A claim runs out unless it is renewed, so that the photos of a process that died are taken up by another. What is stored
without the claim being one's own any more is not stored.
"""

from __future__ import annotations

import time
from collections.abc import Collection

from sqlalchemy import ColumnElement, and_, delete, exists, func, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from journal_server.storage.tables import NOT_DELETED, ClaimRow, RecordRow

LEASE_S = 20.0
RENEW_S = 5.0

WAITS = and_(RecordRow.kind == "photo", NOT_DELETED, RecordRow.measuring == "waiting")


def claim_next(session: Session, token: str) -> str | None:
    """Claim the photo that has waited longest and that no one holds; None where there is none.

    Those that others are claiming at this moment are passed over rather than waited for.
    """
    while True:
        now_s = _now_s(session)
        held = exists().where(ClaimRow.photo_id == RecordRow.id, ~_is_free(now_s))
        longest = select(RecordRow.id).where(WAITS, ~held).order_by(RecordRow.seq).limit(1)
        photo_id = session.execute(longest.with_for_update(skip_locked=True, key_share=True)).scalar()
        if photo_id is None or _take_if_free(session, photo_id, token, now_s):
            return photo_id


def renew(session: Session, tokens: Collection[str]) -> None:
    session.execute(update(ClaimRow).where(ClaimRow.token.in_(tokens)).values(until_s=_now_s(session) + LEASE_S))


def give_up(session: Session, photo_id: str, token: str) -> bool:
    """End one's own claim; False where it is another's by now, or none."""
    mine = delete(ClaimRow).where(ClaimRow.photo_id == photo_id, ClaimRow.token == token)
    return session.execute(mine.returning(ClaimRow.photo_id)).first() is not None


def _take_if_free(session: Session, photo_id: str, token: str, now_s: float) -> bool:
    insert = sqlite.insert if session.get_bind().dialect.name == "sqlite" else postgresql.insert
    values = {"token": token, "until_s": now_s + LEASE_S}
    taking = insert(ClaimRow).values(photo_id=photo_id, **values)
    if_free = taking.on_conflict_do_update(index_elements=["photo_id"], set_=values, where=_is_free(now_s))
    if session.execute(if_free.returning(ClaimRow.photo_id)).first() is None:
        return False
    # Another may have measured it, and ended its claim, since it was seen to wait.
    if session.execute(select(RecordRow.id).where(RecordRow.id == photo_id, WAITS)).first() is None:
        give_up(session, photo_id, token)
        return False
    return True


def _is_free(now_s: float) -> ColumnElement[bool]:
    """Run out, or from a clock that has been set back since."""
    return or_(ClaimRow.until_s <= now_s, ClaimRow.until_s > now_s + 2 * LEASE_S)


def _now_s(session: Session) -> float:
    """By the one clock that all who share the database share."""
    if session.get_bind().dialect.name == "sqlite":
        return time.time()
    return float(session.execute(select(func.extract("epoch", func.clock_timestamp()))).scalar_one())
