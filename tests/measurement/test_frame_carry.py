"""Carried frames lie within the error that they tell: on the sample season, whose frames are known exactly."""

from __future__ import annotations

import json

import numpy as np
import pytest
from measurement.test_registration import PHOTOS, outline_distance, truth, view

from journal_server.measurement.frame_carry import CARD_MOVED, LANDMARKS_ASIDE, CarriedFrame, carry_frame
from journal_server.measurement.landmarks import View

CARD = np.array([[300.0, 200], [360, 200], [360, 242], [300, 242]])
FRAME = np.array([[100.0, 100], [500, 100], [500, 300], [100, 300]])


def frame_photos() -> dict[str, str]:
    """By planting the photo on which its frame is drawn."""
    season = json.loads((PHOTOS / "season.json").read_text(encoding="utf-8"))
    return {planting["code"].lower(): planting["frame"]["photo"] for planting in season["plantings"]}


def carried_frames() -> dict[str, tuple[CarriedFrame, float]]:
    """Each photo's frame carried from where its planting's frame is drawn, and how far it is off in truth."""
    found = {}
    for code, drawn_on in frame_photos().items():
        for path in sorted(PHOTOS.glob(f"{code}_*.jpg")):
            if path.name != drawn_on:
                frame = np.array(truth(drawn_on)["frame_polygon"])
                carried = carry_frame(frame, view(drawn_on), view(path.name))
                off = outline_distance(np.array(carried.polygon), np.array(truth(path.name)["frame_polygon"]))
                found[path.stem] = (carried, off)
    return found


def test_frames_lie_within_the_error_they_tell() -> None:
    found = carried_frames()
    told = {name: (one, off) for name, (one, off) in found.items() if one.error_px is not None}
    assert len(told) >= 50
    assert np.mean([off <= one.error_px for one, off in told.values()]) >= 0.9
    # Told too wide, an error would spoil the numbers: nine of ten stay below a twentieth of the planter.
    shares = [one.error_px / np.ptp(np.array(one.polygon), axis=0).max() for one, _ in told.values()]
    assert np.quantile(shares, 0.9) < 0.05
    # What is told separates the right from the wrong: the frames that lie worst are told among the widest.
    worst = sorted(told, key=lambda name: -told[name][1])[:5]
    widths = np.array([one.error_px for one, _ in told.values()])
    assert np.median([told[name][0].error_px for name in worst]) > np.median(widths) * 1.3


@pytest.mark.parametrize(("lean", "least"), [(0.0, 0.019), (0.06, 0.05)])
def test_a_card_that_leans_otherwise_is_not_believed(lean: float, least: float) -> None:
    """Its corners as seen when it is turned about its foot, which no shift, turn and scale explain."""
    leaning = CARD + np.array([[lean * 60, 0], [-lean * 60, 0], [0, 0], [0, 0]])
    carried = carry_frame(FRAME, View(640, 480, CARD), View(640, 480, leaning))
    assert carried.how == "card"
    assert carried.error_px is not None
    assert carried.error_px >= least * 400


def test_where_card_and_landmarks_disagree_both_are_doubted() -> None:
    first, second = (view(name) for name in ("p1_2026-06-17.jpg", "p1_2026-07-01.jpg"))
    frame = np.array(truth("p1_2026-06-17.jpg")["frame_polygon"])
    agreed = carry_frame(frame, first, second)
    assert (agreed.how, agreed.warning) == ("card and features", None)
    assert second.card_corners is not None
    moved = View(second.width, second.height, second.card_corners + np.array([120, 40]), second.grey)
    doubted = carry_frame(frame, first, moved)
    assert (doubted.how, doubted.warning) == ("features", CARD_MOVED)
    assert agreed.error_px is not None
    assert doubted.error_px is not None
    assert doubted.error_px == pytest.approx(0.55 * np.hypot(120, 40), rel=0.1)
    assert doubted.error_px > 2 * agreed.error_px


def test_landmarks_beside_the_planter_carry_it_roughly() -> None:
    whole = view("p1_2026-06-17.jpg")
    frame = np.array(truth("p1_2026-06-17.jpg")["frame_polygon"])
    blank = whole.grey.copy()  # type: ignore[union-attr]
    blank[:, blank.shape[1] // 5 :] = 120
    seen = View(whole.width, whole.height, None, whole.grey)
    aside = View(whole.width, whole.height, None, blank)
    near, far = carry_frame(frame, seen, seen), carry_frame(frame, seen, aside)
    assert (near.how, near.warning) == ("features", None)
    assert (far.how, far.warning) == ("features", LANDMARKS_ASIDE)
    assert near.error_px is not None
    assert far.error_px is not None
    assert far.error_px > 1.5 * near.error_px
