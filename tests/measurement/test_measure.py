"""Whole photos: against exact truth of made scenes, threshold methods, and a point count on a real photograph."""

from __future__ import annotations

import csv
import io
import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sklearn.datasets import load_sample_image

from journal_server.errors import InputRefused, PhotoRefused
from journal_server.measurement import Estimate, measure_photo
from journal_server.measurement.benchmark import accuracy
from journal_server.measurement.benchmark.baselines import METHODS, baseline_shares
from journal_server.measurement.benchmark.residuals import Row, measured
from journal_server.measurement.benchmark.scenes import scenes_in
from journal_server.measurement.frame import coverage
from journal_server.measurement.photo_file import open_photo, render

TESTS = Path(__file__).parents[1]
SCENES = TESTS / "scenes"
CONTRACT = {
    "photo", "method", "taken_at", "taken_at_source", "width", "height", "tag", "card_corners", "white_reference",
    "canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share", "spill_cm", "slots", "evenness", "bloom_colour",
    "quality", "reasons",
}  # fmt: skip


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return measured(scenes_in(SCENES), ways=[(True, True)])


def mean_error(rows: list[Row], quantity: str) -> float:
    return float(np.abs(accuracy.errors(rows, quantity)).mean())


def test_errors_stay_within_what_is_claimed(rows: list[Row]) -> None:
    assert len(rows) == 40
    assert mean_error(rows, "canopy_fill") < 0.012
    assert mean_error(rows, "bloom_cover") < 0.03
    assert mean_error(rows, "spent_share") < 0.03


@pytest.mark.parametrize("method", METHODS)
def test_thresholds_are_beaten_clearly(rows: list[Row], method: str) -> None:
    fill, bloom = [], []
    for row in rows:
        photo = open_photo(row.scene.photo)
        srgb = np.asarray(render(photo, 640))
        scale = srgb.shape[1] / photo.width, srgb.shape[0] / photo.height
        inside = coverage(np.array(row.scene.truth["frame_polygon"]), srgb.shape[:2], scale)
        shares = baseline_shares(method, srgb, inside)
        fill.append(abs(shares[0] - row.scene.truth["frame"]["canopy_fill"]))
        bloom.append(abs((shares[1] or 0.0) - row.scene.truth["frame"]["bloom_cover"]))
    assert mean_error(rows, "canopy_fill") < np.mean(fill) / 4
    assert mean_error(rows, "bloom_cover") < np.mean(bloom) / 3


@pytest.mark.parametrize("quantity", ["canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf"])
def test_intervals_hold_the_truth_about_nine_times_in_ten(rows: list[Row], quantity: str) -> None:
    pairs = [(getattr(row.drawn.measurement, quantity), row.truth(quantity)) for row in rows]
    known = [(estimate, truth) for estimate, truth in pairs if estimate is not None and truth is not None]
    inside = sum(estimate.low <= truth <= estimate.high for estimate, truth in known)
    # 40 photos: with 90 % each, fewer than 31 inside happens once in a hundred times.
    assert inside >= 31
    assert np.median([estimate.high - estimate.low for estimate, _ in known]) < 0.15


def test_slots_follow_the_truth_in_long_planters(rows: list[Row]) -> None:
    long_planters = [row for row in rows if row.scene.truth["planter"] not in accuracy.ROUND]
    off = [
        np.abs(np.array(row.drawn.measurement.slots) - np.array(row.scene.truth["slot_fill"])).mean()
        for row in long_planters
    ]
    assert np.mean(off) < 0.04


def test_bloom_colour_is_near_the_true_reflectance(rows: list[Row]) -> None:
    from journal_server.measurement.colour import delta_e_00

    differences = []
    for row in rows:
        colour, truth = row.drawn.measurement.bloom_colour, row.scene.truth["bloom_lab_d65_in_frame"]
        if colour and truth and row.drawn.measurement.white_reference == "card":
            differences.append(float(delta_e_00(np.array(colour.lab), np.array(truth))))
    assert len(differences) >= 15
    assert np.median(differences) < 6


def test_the_result_is_the_contracts_json(rows: list[Row]) -> None:
    for row in rows:
        result = row.drawn.measurement.as_dict()
        text = json.dumps(result, allow_nan=False)
        assert set(json.loads(text)) >= CONTRACT
        for name in CONTRACT - {"photo", "reasons", "quality"}:
            assert result[name] is not None or result["reasons"].get(name), f"{row.scene.name}: {name}"
        for name in ("canopy_fill", "bloom_cover", "spent_share"):
            if result[name]:
                assert 0 <= result[name]["low"] <= result[name]["value"] <= result[name]["high"] <= 1


def test_a_real_photograph_against_a_point_count() -> None:
    with (TESTS / "reference" / "flower_points.csv").open() as file:
        classes = [row["class"] for row in csv.DictReader(file)]
    share, count = classes.count("bloom") / len(classes), len(classes)
    assert count >= 200
    # Wilson (1927), 90 %
    z = 1.6449
    middle = (share + z**2 / (2 * count)) / (1 + z**2 / count)
    half = z * math.sqrt(share * (1 - share) / count + z**2 / (4 * count**2)) / (1 + z**2 / count)
    measurement = measure_photo(Image.fromarray(load_sample_image("flower.jpg")), bloom_colours=["#f0a060", "#e8622c"])
    assert measurement.canopy_fill is not None
    assert measurement.bloom_cover is not None
    low = measurement.canopy_fill.low * measurement.bloom_cover.low
    high = measurement.canopy_fill.high * measurement.bloom_cover.high
    assert low <= middle + half
    assert high >= middle - half
    seen = measurement.canopy_fill.value * measurement.bloom_cover.value
    assert abs(seen - share) < 0.09


def test_a_bare_planter_has_no_bloom_rather_than_none_of_it() -> None:
    wall = Image.fromarray(np.random.default_rng(1).normal(150, 6, (300, 400, 3)).clip(0, 255).astype(np.uint8))
    measurement = measure_photo(wall)
    assert measurement.bloom_cover is None
    assert "Hardly any plant" in measurement.reasons["bloom_cover"]
    assert "no_plant" in [warning.code for warning in measurement.quality.warnings]


def test_a_photo_without_colours_is_not_usable() -> None:
    measurement = measure_photo(Image.open(SCENES / "dev_02.jpg").convert("L"))
    assert not measurement.quality.usable
    assert measurement.bloom_colour is None
    assert "no colours" in measurement.reasons["bloom_colour"]


def test_without_the_network_colour_alone_measures_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    from journal_server.measurement import segmentation

    def missing(*_: object) -> None:
        raise FileNotFoundError("weights")

    monkeypatch.setattr(segmentation, "segment", missing)
    measurement = measure_photo(SCENES / "dev_02.jpg")
    assert measurement.method.startswith("colour ")
    assert "colour_only" in [warning.code for warning in measurement.quality.warnings]
    assert isinstance(measurement.canopy_fill, Estimate)


@pytest.mark.parametrize(
    "frame",
    [
        [], [(0, 0), (10, 0)], [(0, 0), (1, 1), (2, 2)], [(0, 0), (float("nan"), 5), (5, 5)], "abc", [(1,), (2,), (3,)],
        [(9000, 9000), (9900, 9000), (9900, 9900)], [(0, 0), (float("inf"), 5), (5, 5)],
    ],
)  # fmt: skip
def test_an_impossible_frame_is_refused_at_its_field(frame: object) -> None:
    with pytest.raises(InputRefused) as refusal:
        measure_photo(Image.new("RGB", (60, 40)), frame=frame)  # type: ignore[arg-type]
    assert refusal.value.field == "frame"


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("bloom_colours", ["red"]),
        ("foliage_colours", ["#12"]),
        ("plants", 0),
        ("plants", 2.5),
        ("plants", True),
        ("plants", 10**9),
    ],
)
def test_other_impossible_values_are_refused_at_their_field(argument: str, value: object) -> None:
    with pytest.raises(InputRefused) as refusal:
        measure_photo(Image.new("RGB", (60, 40)), **{argument: value})  # type: ignore[arg-type]
    assert refusal.value.field == argument


@pytest.mark.parametrize("size", [(1, 1), (3, 2000), (2000, 3), (40, 30)])
def test_pictures_of_odd_sizes_are_survived(size: tuple[int, int]) -> None:
    measurement = measure_photo(Image.new("RGB", size, (40, 120, 30)), plants=3)
    assert (measurement.width, measurement.height) == size


def test_an_open_file_and_a_path_give_the_same_numbers() -> None:
    path = SCENES / "dev_06.jpg"
    with path.open("rb") as file:
        by_file = measure_photo(io.BytesIO(file.read()))
    by_path = measure_photo(path)
    assert by_file.canopy_fill == by_path.canopy_fill
    assert by_file.bloom_colour == by_path.bloom_colour


def test_a_broken_file_is_refused_with_a_sentence() -> None:
    with pytest.raises(PhotoRefused, match="cut short"):
        measure_photo(io.BytesIO((SCENES / "dev_06.jpg").read_bytes()[:60_000]))


def test_importing_the_measurement_loads_no_web_or_database() -> None:
    program = (
        "import sys\n"
        "from journal_server.measurement import measure_photo\n"
        "import journal_server.measurement.overlay, journal_server.measurement.frame_carry\n"
        "barred = 'flask', 'sqlalchemy', 'journal_server.storage', 'journal_server.services', 'journal_server.api'\n"
        "sys.exit(', '.join(name for name in barred if name in sys.modules) or None)\n"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
