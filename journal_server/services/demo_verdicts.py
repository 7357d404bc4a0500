"""The verdicts of the demo journal: sentences that are offered from the measurements, and the gardener's own words."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from journal_server.domain.derived_ids import derived_id
from journal_server.services.journal import Journal
from journal_server.services.verdicts import drafts_of_verdict
from journal_server.storage.records import load_record

WORDS_BEFORE = 40
"""So many characters before a number are kept, to find it again in the text."""


def verdict_changes(journal: Journal, folder: Path, make_id: Callable[..., str]) -> list[dict[str, Any]]:
    """Those that were never written here; to be made once the photos are measured, since their texts quote numbers."""
    told = json.loads((folder / "verdicts.json").read_text(encoding="utf-8"))["verdicts"]
    return [change for one in told if (change := _change(journal, one, make_id))]


def _change(journal: Journal, told: dict[str, Any], make_id: Callable[..., str]) -> dict[str, Any] | None:
    about = {
        "trial_id": make_id("trial"),
        "cultivar_id": make_id("cultivar", told["planting"]),
        "place": told["place"],
    }
    identity = derived_id("verdict", *about.values())
    with journal.database.reading() as session:
        if load_record(session, identity) is not None:
            return None
    offered = drafts_of_verdict(journal, *about.values())["sentences"]
    taken = [one for key in told["sentences"] for one in offered if one["key"] == key]
    text = " ".join([*(one["text"] for one in taken), told["own_words"]])
    quoted = [entry for one in taken for entry in _quoted(one["parts"])]
    return {"kind": "verdict", "id": identity, "fields": about | told["fields"] | {"text": text, "quoted": quoted}}


def _quoted(parts: Iterable[dict[str, Any]]) -> Iterable[dict[str, Any]]:
    before = ""
    for part in parts:
        if number := part.get("number"):
            kept = {name: number[name] for name in ("key", "planting_id", "shown", "interval", "on", "photo_ids")}
            yield kept | number["estimate"] | {"before": before[-WORDS_BEFORE:].strip() or None}
        before += part["text"]
