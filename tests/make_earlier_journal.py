"""Keeps a small journal as the code makes it today, for the day on which the tables change.

    python tests/make_earlier_journal.py tests/storage/earlier/step_0006.zip

Run it before a new step of the schema is written, and commit what it makes: `storage/test_earlier_journals.py` asks for
one of every step that there ever was. Those of steps 0001 to 0005 were made with the code of their day.
"""

from __future__ import annotations

import contextlib
import io
import json
import sqlite3
import sys
import tempfile
import uuid
import zipfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient

sys.path.insert(0, str(Path(__file__).parent))

from made_photos import jpeg
from made_sounds import wav

from journal_server.app import create_app
from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.services.measuring import MeasuringRoom
from journal_server.services.pairing import make_pairing_code, pair_device


def fill(journal: Journal) -> None:
    """A planting with its photos, measured, a recording, something deleted, a device, a calendar, a shared report."""
    journal.change_settings({"time_zone": "Europe/Paris", "heat_day_c": 33})
    client = create_app(journal).test_client()
    trial = _make(client, "trial", title="Terrace ☀", year=2026)
    planter = _make(client, "planter", trial_id=trial, name="Trough 1", planter_kind="trough")
    cultivar = _make(client, "cultivar", genus="Petunia", name="Made Up", bloom_colours=["#7a3fa6"])
    of = {"trial_id": trial, "planter_id": planter, "cultivar_id": cultivar}
    planting = _make(client, "planting", **of, planted_on="2026-05-16", plants=4, card_code="TAG-7K3Q9M")
    _make(client, "care", trial_id=trial, planting_id=planting, done_on="2026-06-01", action="fed")
    gone = _make(client, "care", trial_id=trial, planting_id=planting, done_on="2026-06-02", action="fed")
    _send(client, {"kind": "care", "id": gone, "fields": {}, "delete": True})
    photos = [_photo(client, 0, ("TAG-7K3Q9M",), (640, 480)), _photo(client, 1, (), (320, 240))]
    corners = [[10, 10], [200, 10], [200, 200], [10, 200]]
    _make(client, "frame", planting_id=planting, photo_id=photos[0], polygon=corners)
    client.post("/api/recordings", data={"recording": (io.BytesIO(wav()), "remark.wav")})
    now = datetime.now(UTC)
    pair_device(journal, make_pairing_code(journal, "helper", now).code, "Old phone", "192.168.1.7", now)
    client.post("/api/calendar-addresses", json={"trial_id": trial, "name": "Old calendar"})
    MeasuringRoom(journal).run_until_done()
    shared = {"report": "trial", "trial_id": trial, "name": "Old reader", "photos": False}
    assert client.post("/api/report-links", json=shared).status_code == 201


def _make(client: FlaskClient, kind: str, **fields: Any) -> str:
    identity = str(uuid.uuid4())
    _send(client, {"kind": kind, "id": identity, "fields": fields})
    return identity


def _send(client: FlaskClient, change: dict[str, Any]) -> None:
    answer = client.post("/api/changes", json={"changes": [change]})
    assert answer.status_code == 200, json.dumps(answer.get_json())


def _photo(client: FlaskClient, seed: int, codes: tuple[str, ...], size: tuple[int, int]) -> str:
    content = jpeg("2026:06:12 10:14:03", seed=seed, codes=codes, size=size)
    answer = client.post("/api/photos", data={"photo": (io.BytesIO(content), f"{seed}.jpg")})
    identity: str = answer.get_json()["photo"]["id"]
    return identity


def keep(target: Path) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with contextlib.closing(open_journal(folder)) as journal:
            fill(journal)
        with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
            database.execute("PRAGMA journal_mode=DELETE")
            database.execute("VACUUM")
        files = [folder / DATABASE_FILE, *folder.glob("originals/*/*"), *folder.glob("recordings/*/*")]
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as out:
            for file in files:
                out.write(file, str(file.relative_to(folder)))


if __name__ == "__main__":
    keep(Path(sys.argv[1]))
