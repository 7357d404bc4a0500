"""Painting over the class map: exact areas, the person's word, and numbers that follow from it."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from measurement.made_scene import FRAME, HEIGHT, WIDTH, made_scene
from PIL import Image

from journal_server.errors import InputRefused
from journal_server.measurement import Measurement, measure_photo
from journal_server.measurement.hand_correction import PAINTS, Stroke, checked_strokes, paint, stroke_coverage
from journal_server.measurement.measure import BY_HAND, measure_and_draw
from journal_server.measurement.result import Estimate

SCENE = made_scene(1, 60, 25)
PLAIN = measure_photo(SCENE.picture, frame=SCENE.frame, bloom_colours=["#d63c8c"], plants=3)
EVERYWHERE = Stroke("foliage", 2000.0, ((WIDTH / 2, HEIGHT / 2),))
few = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
many = settings(max_examples=60, deadline=None)


def measured(*strokes: Stroke, picture: Image.Image = SCENE.picture, factor: float = 1.0) -> Measurement:
    frame = [(x * factor, y * factor) for x, y in SCENE.frame]
    return measure_photo(picture, frame=frame, bloom_colours=["#d63c8c"], plants=3, correction=strokes)


def half(estimate: Estimate | None) -> float:
    assert estimate is not None
    return (estimate.high - estimate.low) / 2


def values(measurement: Measurement) -> list[float | None]:
    names = ("canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf", "evenness")
    return [getattr(measurement, name) and getattr(measurement, name).value for name in names]


def covered(stroke: Stroke, shape: tuple[int, int], scale: tuple[float, float]) -> np.ndarray:
    mask = np.zeros(shape, np.float32)
    window, share = stroke_coverage(stroke, shape, scale)
    mask[window] = share
    return mask


def certain(kind: int, shape: tuple[int, int] = (60, 80)) -> np.ndarray:
    classes = np.zeros((*shape, 6), np.float32)
    classes[..., kind] = 1
    return classes


@many
@given(
    st.floats(20, 60),
    st.floats(20, 40),
    st.floats(0, 2 * math.pi),
    st.floats(1, 18),
    st.floats(0.3, 12),
    st.floats(0.4, 3),
)
def test_a_stroke_covers_the_area_of_its_shape(
    x: float, y: float, angle: float, length: float, width: float, scale: float
) -> None:
    """A segment of length L and brush w: w L and half a disc at each end, whatever the turn and the map's scale."""
    end = (x + length * math.cos(angle), y + length * math.sin(angle))
    mask = covered(Stroke("bloom", width, ((x, y), end)), (round(80 * scale), round(100 * scale)), (scale, scale))
    true_area = (width * length + math.pi * width**2 / 4) * scale**2
    outline = (2 * length + math.pi * width) * scale
    assert float(mask.sum()) == pytest.approx(true_area, abs=0.03 * outline + 0.35)


def test_a_stroke_along_the_pixels_is_exact() -> None:
    mask = covered(Stroke("bloom", 3.5, ((-50, 10.5), (200, 10.5))), (20, 40), (1.0, 1.0))
    assert mask[7:14, 20].tolist() == [0, 0.25, 1, 1, 1, 0.25, 0]
    assert float(mask.sum()) == 3.5 * 40


def test_a_dot_is_a_disc() -> None:
    assert float(covered(Stroke("spent", 20, ((30.0, 30.0),)), (60, 60), (1, 1)).sum()) == pytest.approx(
        math.pi * 100, rel=0.005
    )


@many
@given(st.lists(st.tuples(st.sampled_from(sorted(PAINTS)), st.floats(0.5, 60), st.floats(-20, 100), st.floats(-20, 80)),
                min_size=1, max_size=8))  # fmt: skip
def test_what_is_painted_stays_a_map_of_shares(drawn: list[tuple[str, float, float, float]]) -> None:
    strokes = [Stroke(kind, width, ((x, y), (x + 9, y - 4))) for kind, width, x, y in drawn]
    random = np.random.default_rng(5)
    before = random.dirichlet(np.ones(6), (60, 80)).astype(np.float32)
    painted = paint(before, strokes, 80, 60)
    assert painted.after.sum(axis=-1) == pytest.approx(np.ones((60, 80)), abs=1e-5)
    assert painted.after.min() >= -1e-6
    assert sum(painted.layers.values()) + painted.untouched == pytest.approx(np.ones((60, 80)), abs=1e-5)
    untouched = painted.untouched == 1
    assert np.array_equal(painted.after[untouched], before[untouched])
    assert (painted.brush_px > 0)[painted.untouched < 1].all()


def test_the_last_stroke_counts() -> None:
    dots = [Stroke(kind, 30, ((40.0, 30.0),)) for kind in ("bloom", "spent", "foliage")]
    painted = paint(certain(0), dots, 80, 60)
    assert painted.after[30, 40] == pytest.approx([0, 1, 0, 0, 0, 0])
    assert painted.layers[PAINTS["bloom"]][30, 40] == 0


def test_painting_everything_foliage_leaves_no_bloom() -> None:
    corrected = measured(EVERYWHERE)
    assert values(corrected) == [1.0, 0.0, 0.0, 0.0, 1.0]
    assert corrected.bloom_colour is None
    assert corrected.method == f"{PLAIN.method}, {BY_HAND}"
    for name in ("canopy_fill", "bloom_cover", "spent_share"):
        assert 0 < half(getattr(corrected, name)) <= half(getattr(PLAIN, name)), "sure, but no surer than ever checked"


def test_painting_everything_over_leaves_no_plant_and_says_so() -> None:
    corrected = measured(Stroke("other", 2000.0, ((0.0, 0.0),)))
    assert values(corrected) == [0.0, None, None, None, None]
    assert corrected.reasons["bloom_cover"] == "Hardly any plant is seen inside the frame."


def test_strokes_outside_the_frame_change_no_number() -> None:
    corrected = measured(Stroke("bloom", 30.0, ((20.0, 20.0), (620.0, 20.0))))
    plain, after = PLAIN.as_dict(), corrected.as_dict()
    assert after.pop("method") == f"{plain.pop('method')}, {BY_HAND}"
    assert after == plain


def test_strokes_outside_the_photo_change_no_number() -> None:
    assert values(measured(Stroke("bloom", 30.0, ((-500.0, 20.0), (-90.0, 9000.0))))) == values(PLAIN)


@few
@given(st.floats(0.75, 2.2))
def test_the_same_strokes_on_the_same_photo_larger_or_smaller_give_the_same_change(factor: float) -> None:
    strokes = [Stroke("bloom", 50, ((150, 200), (300, 260))), Stroke("other", 40, ((400, 150), (500, 300)))]
    larger = [Stroke(s.paint, s.width * factor, tuple((x * factor, y * factor) for x, y in s.points)) for s in strokes]
    size = round(WIDTH * factor), round(HEIGHT * factor)
    picture = SCENE.picture.resize(size, Image.Resampling.BICUBIC)
    before, after = measured(picture=picture, factor=factor), measured(*larger, picture=picture, factor=factor)
    for name in ("canopy_fill", "bloom_cover"):
        here = getattr(after, name).value - getattr(before, name).value
        there = getattr(measured(*strokes), name).value - getattr(PLAIN, name).value
        assert here == pytest.approx(there, abs=0.02), name


def test_strokes_are_in_the_pixels_of_the_photo_as_it_is_displayed() -> None:
    """A file that lies on its side and says so: the left half is the left half of what people see."""
    exif, buffer = Image.Exif(), io.BytesIO()
    exif[0x0112] = 6  # to be turned a quarter to the right (Exif 2.3, table 6)
    SCENE.picture.transpose(Image.Transpose.ROTATE_90).save(buffer, "JPEG", quality=95, exif=exif)
    left_half = Stroke("bloom", WIDTH / 2, ((WIDTH / 4, -200.0), (WIDTH / 4, HEIGHT + 200.0)))
    drawn = measure_and_draw(io.BytesIO(buffer.getvalue()), correction=[left_half])
    assert (drawn.measurement.width, drawn.measurement.height) == (WIDTH, HEIGHT)
    assert drawn.painted is not None
    middle = drawn.painted.untouched.shape[1] // 2
    assert drawn.painted.untouched[:, : middle - 1].max() == 0
    assert drawn.painted.untouched[:, middle + 1 :].min() == 1


def test_the_colour_of_the_bloom_is_read_from_what_was_painted() -> None:
    """A patch of wall painted as the only bloom: the colour is the wall's, no longer the flowers'."""
    corrected = measured(EVERYWHERE, Stroke("bloom", 40.0, ((110.0, 140.0), (200.0, 140.0))))
    assert PLAIN.bloom_colour is not None
    assert corrected.bloom_colour is not None
    chroma = [math.hypot(*measurement.bloom_colour.lab[1:]) for measurement in (PLAIN, corrected)]  # type: ignore[union-attr]
    assert chroma[0] > 30
    assert chroma[1] < 20


def test_painting_what_was_counted_so_already_alters_little() -> None:
    inside_the_wall = Stroke("other", 20.0, ((200.0, 60.0), (400.0, 60.0)))
    assert values(measured(inside_the_wall)) == pytest.approx(values(PLAIN), abs=0.002)


def test_the_interval_holds_the_method_where_nothing_was_painted_and_the_edges_of_what_was() -> None:
    dot = measured(Stroke("bloom", 6.0, ((300.0, 230.0),)))
    assert half(dot.canopy_fill) == pytest.approx(half(PLAIN.canopy_fill), rel=0.05), "a dot is little"
    left_half = Stroke("foliage", 2 * (320 - 90.0), ((90.0, 0.0), (90.0, 480.0)))
    split = measured(left_half)
    assert half(split.canopy_fill) > 0.05, "the one edge may lie a quarter of a very wide brush off"
    fine = [Stroke("foliage", 23.0, ((90.0 + 11.5 + 23 * i, 110.0), (90.0 + 11.5 + 23 * i, 350.0))) for i in range(20)]
    assert half(measured(*fine).canopy_fill) < half(split.canopy_fill)
    assert half(measured(*fine).canopy_fill) < half(PLAIN.canopy_fill)


@pytest.mark.parametrize(
    "stroke",
    [
        Stroke("petal", 5.0, ((1.0, 1.0),)),
        Stroke("bloom", 0.0, ((1.0, 1.0),)),
        Stroke("bloom", float("nan"), ((1.0, 1.0),)),
        Stroke("bloom", 5.0, ()),
        Stroke("bloom", 5.0, ((float("inf"), 1.0),)),
        Stroke("bloom", 5.0, ((1.0,),)),  # type: ignore[arg-type]
    ],
)
def test_a_stroke_that_cannot_be_painted_is_refused(stroke: Stroke) -> None:
    with pytest.raises(InputRefused) as refused:
        checked_strokes([stroke])
    assert refused.value.field == "correction"
    with pytest.raises(InputRefused):
        measured(stroke)


def test_the_frame_of_these_tests_lies_where_the_strokes_expect_it() -> None:
    assert FRAME[0] == (90.0, 120.0)
    assert FRAME[2] == (550.0, 340.0)
