"""Point counts over the API: a trial whose photos a person has counted, and what is asked wrongly."""

from __future__ import annotations

import uuid
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np
import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_season import measured_season

from journal_server.measurement.class_map import likeliest_png
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal
from journal_server.services.measuring_inputs import plan_measuring
from journal_server.storage.records import current_measurements, save_measurement, save_photo_file

FRAME = [[0, 0], [100, 0], [100, 100]]


def make_known_to_the_method(journal: Journal, photo_id: str, bloom: float) -> None:
    """The numbers under the inputs of now, and a class map that is bloom from the top down to a share."""
    with journal.database.writing() as session:
        save_photo_file(session, uuid.uuid4().hex * 2, photo_id, ".jpg", 1)
        row = current_measurements(session, [photo_id])[photo_id]["fields"]
        job = plan_measuring(journal, photo_id, session)
        assert job is not None
        columns = {name: row[name] for name in ("photo_id", "planting_id", "frame_polygon", "frame_how", "measured_at")}
        known = {"id": str(uuid.uuid4()), "inputs_hash": job.inputs_hash, "basis_hash": job.basis_hash}
        save_measurement(
            session, **columns, **known, method="made up, 1", numbers=row["numbers"] | {"method": "made up"}
        )
    classes = np.zeros((100, 10, 6), np.float32)
    classes[: round(100 * bloom), :, 2] = 1
    classes[round(100 * bloom) :, :, 1] = 1
    journal.files.keep_derived(job.sha256, job.classes_name, likeliest_png(classes))


def count(journal: Journal, photo_id: str, answers: str, **more: Any) -> None:
    points = [[1.0 + at, 768.0 * at / len(answers)] for at in range(len(answers))]
    fields = {
        "photo_id": photo_id, "polygon": FRAME, "points": points, "answers": answers, "seed": 1,
        "counted_on": "2026-09-01", "ended": True,
    } | more  # fmt: skip
    change = {"kind": "point_count", "id": str(uuid.uuid4()), "fields": fields}
    (result,) = apply_changes(journal, [change])
    assert not result.errors


@pytest.fixture
def counted(journal: Journal, set_up: SetUp) -> list[str]:
    """Two plantings, eight dates; six photos are counted by a person who always sees some 6 points more bloom."""
    first, second = set_up.planting(), set_up.planting()
    days = {f"2026-0{6 + at // 4}-{1 + 7 * (at % 4):02}": (0.98, 0.1 + 0.08 * at) for at in range(8)}
    photos = measured_season(journal, first, days)
    measured_season(journal, second, days)
    for at, photo_id in enumerate(photos):
        make_known_to_the_method(journal, photo_id, 0.1 + 0.08 * at)
    for at, photo_id in enumerate(photos[:6]):
        blooms = round(100 * (0.16 + 0.08 * at)) + (1 if at % 2 else -1)
        count(journal, photo_id, "b" * blooms + "f" * (100 - blooms))
    return photos


def test_a_trial_tells_bias_limits_kappa_and_what_to_count_next(
    client: FlaskClient, set_up: SetUp, counted: list[str]
) -> None:
    found = client.get(f"/api/review/how-sure?trial={set_up.trial_id}").get_json()
    assert (found["photos"], found["points"], found["unanswered"], found["countable"]) == (6, 600, 0, 16)
    bloom = next(one for one in found["shares"] if one["name"] == "bloom_cover")
    assert bloom["bias"]["value"] == pytest.approx(-0.06)
    assert bloom["bias"]["low"] < -0.06 < bloom["bias"]["high"] < 0
    assert bloom["lower"]["value"] == pytest.approx(-0.06 - 1.96 * bloom["spread"])
    assert bloom["spread_left"]["value"] == 0, "the counts differ by less than counting alone would make them"
    assert "the method reads 6.0 points less than the counts" in " ".join(bloom["sentences"])
    assert 0.8 < found["kappa"]["estimate"]["value"] < 1
    assert found["kappa"]["photos"] == 6
    assert [one["photo_id"] for one in found["audited"]] == counted[:6]
    offered = {one["photo_id"] for one in found["next"]}
    assert len(offered) == 5
    assert not offered & set(counted[:6])
    assert len(found["sentences"]) > 4


def test_a_count_that_was_begun_is_listed_to_go_on_with(
    client: FlaskClient, journal: Journal, set_up: SetUp, counted: list[str]
) -> None:
    count(journal, counted[7], "b" * 7 + "-" * 43, ended=False)
    found = client.get(f"/api/review/how-sure?trial={set_up.trial_id}").get_json()
    assert [(one["photo_id"], one["answered"], one["points"]) for one in found["begun"]] == [(counted[7], 7, 50)]
    assert counted[7] not in {one["photo_id"] for one in found["next"]}
    assert found["photos"] == 6


def test_one_photo_tells_its_numbers_and_points(client: FlaskClient, counted: list[str]) -> None:
    found = client.get(f"/api/review/point-counts?photo={counted[0]}").get_json()
    bloom = found["rows"][1]
    assert (bloom["words"], bloom["counted"]["value"]) == ("bloom cover", 0.15)
    assert bloom["measured"]["value"] == 0.1
    assert bloom["difference_words"].startswith("−5 points (")
    assert bloom["verdict"] == "within error"
    assert found["confusion"]["rows"][2][0] == 5, "five points the person calls bloom and the method foliage"
    assert len(found["points"]) == 100
    quotes = bloom["quotes"]
    assert quotes["counted"]["text"].startswith("Bloom cover by a count of 100 random points: 15 % (90 % interval ")
    assert quotes["difference"]["text"].endswith("within error")
    assert found["kappa"]["quote"]["text"].startswith("Cohen's kappa of the method and a count by eye: ")


@pytest.mark.parametrize("of", ["canopy_fill", "bloom_cover", "spent_share"])
def test_the_plot_has_a_circle_a_photo_and_its_table_a_row(
    client: FlaskClient, set_up: SetUp, counted: list[str], of: str
) -> None:
    at = f"trial={set_up.trial_id}&of={of}"
    drawn = client.get(f"/api/review/agreement.svg?{at}&width=390")
    assert drawn.mimetype == "image/svg+xml"
    photos = [node.get("data-photo") for node in ET.fromstring(drawn.text).iter() if node.get("class") == "fig-date"]
    assert photos == counted[:6]
    table = client.get(f"/api/review/agreement?{at}").get_json()
    assert len(table["rows"]) == 6
    assert table["rows"][0][0] == "Petunia ‘Made Up 1’, Trough 1, 1 June"


def test_a_trial_without_counts_says_that_nothing_is_known(client: FlaskClient, set_up: SetUp) -> None:
    found = client.get(f"/api/review/how-sure?trial={set_up.trial_id}").get_json()
    assert (found["photos"], found["next"], found["kappa"]) == (0, [], None)
    assert [one["bias"] for one in found["shares"]] == [None] * 3
    assert len(found["sentences"]) == 1
    drawn = client.get(f"/api/review/agreement.svg?trial={set_up.trial_id}&of=bloom_cover")
    assert "no photo is counted" in drawn.text


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("point-counts", 422),
        ("point-counts?photo=none", 404),
        (f"point-counts?photo={uuid.uuid4()}", 404),
        ("how-sure", 422),
        ("how-sure?trial=none", 404),
        (f"how-sure?trial={uuid.uuid4()}", 404),
        ("agreement.svg?trial=none", 404),
        ("agreement?trial={trial}&of=height", 422),
        ("agreement.svg?trial={trial}&of=canopy_fill&width=0", 422),
    ],
)
def test_what_cannot_be_answered_is_said(client: FlaskClient, set_up: SetUp, address: str, status: int) -> None:
    answer = client.get("/api/review/" + address.replace("{trial}", set_up.trial_id))
    assert answer.status_code == status
    assert answer.get_json()["error"]["message"].endswith(".")
