"""The archives that are taken out, over the API."""

from __future__ import annotations

import io
import zipfile

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_photos import jpeg

from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import take_in_photo


def test_tables_come_as_one_archive(client: FlaskClient, set_up: SetUp) -> None:
    set_up.planting()
    answer = client.get(f"/api/exports/miappe.zip?trial={set_up.trial_id}")
    assert (answer.status_code, answer.mimetype) == (200, "application/zip")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="miappe.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.data)) as archive:
        assert "README.md" in archive.namelist()
        assert b"Terrace" in archive.read("study.csv")


def test_photos_come_as_one_archive_by_trial_planting_and_day(
    client: FlaskClient, journal: Journal, set_up: SetUp
) -> None:
    planting = set_up.planting("TAG-7K3Q9M")
    take_in_photo(journal, jpeg("2026:06:12 10:00:00", codes=("TAG-7K3Q9M",)), "a.jpg")
    take_in_photo(journal, jpeg("2026:07:12 10:00:00", seed=1, codes=("TAG-7K3Q9M",)), "b.jpg")
    address = f"/api/exports/photos.zip?trial={set_up.trial_id}&planting={planting}&from=2026-07-01&until=2026-07-31"
    with zipfile.ZipFile(io.BytesIO(client.get(address).data)) as archive:
        assert len(archive.namelist()) == 2
        assert archive.namelist()[-1] == "photos.csv"


@pytest.mark.parametrize(
    ("address", "status", "field"),
    [
        ("miappe.zip", 422, None),
        ("miappe.zip?trial=nowhere", 404, None),
        ("miappe.zip?place=perhaps", 422, "place"),
        ("photos.zip", 422, None),
        ("photos.zip?from=yesterday", 422, "from"),
        ("photos.zip?until=2026-02-30", 422, "until"),
        ("photos.zip?planting=nobody", 404, None),
        ("photos.zip?owner=1", 422, "owner"),
    ],
)
def test_what_cannot_be_taken_out_is_said(client: FlaskClient, address: str, status: int, field: str | None) -> None:
    answer = client.get(f"/api/exports/{address}")
    assert answer.status_code == status
    assert answer.get_json()["error"]["field"] == field
    assert answer.get_json()["error"]["message"].endswith(".")
