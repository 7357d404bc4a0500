"""The change feed as a phone reads it: decoded."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy.orm import Session

from journal_server.storage.feed import load_feed_page


def load_changes(session: Session, since: int, limit: int) -> tuple[list[dict[str, Any]], int, bool]:
    """Records and measurements after ``since`` in order, the new cursor, and whether there is more."""
    page = load_feed_page(session, since, limit)
    return [json.loads(text) for text in page.records_json], page.cursor, page.more
