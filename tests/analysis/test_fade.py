"""Colour differences against published pairs, and the reference date's rule."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import hypot

import numpy as np
import pytest
from analysis.sample_season import seasons
from hypothesis import given
from hypothesis import strategies as st

from journal_server.analysis.colour_error import AXIS_SPREAD, step_weights
from journal_server.analysis.fade import LEAVES_DOUBT, LIGHT_DOUBT, WHITE_DOUBT, colour_difference, fade, fade_interval
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.measurement.result import Estimate

# Sharma, G., Wu, W. and Dalal, E. N. (2005), The CIEDE2000 color-difference formula, Color Research and Application
# 30, 21-30, table 1 (pairs 1, 17-20, 25-30); quoted from memory, four decimals as printed.
PAIRS = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.9030),
    ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
]
LAB = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))
PLANTED = date(2026, 5, 16)


@pytest.mark.parametrize(("reference", "sample", "de00"), PAIRS)
def test_published_pairs(reference: tuple[float, ...], sample: tuple[float, ...], de00: float) -> None:
    assert colour_difference(reference, sample).de00 == pytest.approx(de00, abs=5e-5)  # type: ignore[arg-type]


@given(LAB, LAB)
def test_signed_parts_make_up_the_cie76_difference(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    """CIE 15: dE*ab squared is dL* squared + dC* squared + dH* squared."""
    found = colour_difference(a, b)  # type: ignore[arg-type]
    distance = hypot(*(y - x for x, y in zip(a, b, strict=True)))
    assert hypot(found.dl, found.dc, found.dh) == pytest.approx(distance, abs=1e-6)


def test_signs() -> None:
    """From red (hue 0) towards yellow (hue 90) dH* is positive; across the hue zero too."""
    assert colour_difference((50, 40, 0), (60, 30, 0)).dl == 10
    assert colour_difference((50, 40, 0), (60, 30, 0)).dc == -10
    assert colour_difference((50, 40, 0), (50, 0, 40)).dh == pytest.approx(2 * 40 * 2**-0.5)
    assert colour_difference((50, 40, -1), (50, 40, 1)).dh > 0
    assert colour_difference((50, 40, 1), (50, 40, -1)).dh < 0


def day(number: int, cover: float, lab: tuple[float, float, float] | None, white: str = "card") -> SeasonPoint:
    return SeasonPoint(
        f"p{number}",
        date(2026, 6, number),
        bloom_cover=Estimate(cover, cover, cover),
        bloom_lab=lab,
        white_reference=white,
    )


def test_the_reference_is_the_first_photo_with_five_per_cent_in_flower() -> None:
    points = (day(1, 0.049, (50, 10, 10)), day(8, 0.05, (50, 20, 10)), day(15, 0.4, (55, 20, 10), "estimated"))
    found = fade(PlantingSeason("p", "Ember Post", "Pelargonium", "wall", PLANTED, points=points))
    assert found.reference is points[1]
    assert [step.photo_id for step in found.steps] == ["p8", "p15"]
    assert found.steps[0].difference.de00 == 0
    assert [step.doubt for step in found.steps] == [None, WHITE_DOUBT]
    assert found.most is found.steps[1]


def test_a_doubtful_date_never_leads_where_a_sure_one_is_known() -> None:
    points = [day(n, 0.4, (50 + light, 20, 10)) for n, light in ((1, 0), (8, 30), (15, 4))]
    points[1] = replace(points[1], colour_doubtful=True)
    found = fade(PlantingSeason("p", "Ember Post", "Pelargonium", "wall", PLANTED, points=tuple(points)))
    assert [step.doubt for step in found.steps] == [None, LIGHT_DOUBT, None]
    assert found.most is found.steps[2]


def test_where_the_reference_is_doubtful_every_difference_is() -> None:
    points = (replace(day(1, 0.4, (50, 20, 10)), colour_doubtful=True), day(8, 0.4, (70, 20, 10)))
    found = fade(PlantingSeason("p", "Ember Post", "Pelargonium", "wall", PLANTED, points=points))
    assert found.most is found.steps[1]
    assert found.most.doubt == LIGHT_DOUBT


def test_flowers_that_paled_together_with_their_leaves_are_doubtful() -> None:
    """The usual leaf colour is the median, so that one photo in another light stands out and the others do not."""
    greens = {1: "#5a7844", 8: "#92a67c", 15: "#5b7945", 22: "#597743"}
    points = tuple(replace(day(n, 0.4, (50 + n, 20, 10)), foliage_hex=code) for n, code in greens.items())
    found = fade(PlantingSeason("p", "Ember Post", "Pelargonium", "wall", PLANTED, points=points))
    assert [step.doubt for step in found.steps] == [None, LEAVES_DOUBT, None, None]


def test_fade_intervals_hold_the_true_difference_nine_times_in_ten() -> None:
    """Simulated pairs of dates whose colours are read with errors of the spread seen, 3 and 5 units of CIEDE2000."""
    rng = np.random.default_rng(20261125)
    inside, beside_nothing = [], 0
    for _ in range(400):
        first = (float(rng.uniform(35, 80)), float(rng.uniform(15, 50)), float(rng.uniform(-30, 30)))
        moved = rng.normal(0, [5, 5, 3])
        second = (first[0] + moved[0], first[1] + moved[1], first[2] + moved[2])
        points = [
            replace(day(n, 0.4, _misread(rng, lab, error)), bloom_error_de00=error)
            for n, lab, error in ((1, first, 3.0), (8, second, 5.0))
        ]
        found = fade_interval(points[0], points[1])
        assert found is not None
        assert found.low <= found.value <= found.high
        inside.append(found.low <= colour_difference(first, second).de00 <= found.high)
        beside_nothing += found.low == 0
    assert 0.86 <= np.mean(inside) <= 0.96
    assert beside_nothing > 40


def _misread(rng: np.random.Generator, lab: tuple[float, float, float], error: float) -> tuple[float, float, float]:
    """The colour with an error along lightness, chroma and hue."""
    along = rng.normal(0, np.array(AXIS_SPREAD) * error * step_weights(lab, lab))
    chroma, hue = hypot(lab[1], lab[2]), np.arctan2(lab[2], lab[1])
    out = np.array([np.cos(hue), np.sin(hue)])
    a, b = chroma * out + along[1] * out + along[2] * np.array([-out[1], out[0]])
    return (lab[0] + float(along[0]), float(a), float(b))


def test_the_reference_day_differs_by_nothing_and_an_unknown_error_gives_no_interval() -> None:
    points = tuple(
        replace(day(n, 0.4, (50 + n, 20, 10)), bloom_error_de00=e) for n, e in ((1, 3.0), (8, 4.0), (15, None))
    )
    found = fade(PlantingSeason("p", "Ember Post", "Pelargonium", "wall", PLANTED, points=points))
    assert found.steps[0].interval == Estimate(0.0, 0.0, 0.0)
    assert found.steps[1].interval is not None
    assert found.steps[2].interval is None
    told = found.as_dict()["steps"]
    assert (told[0]["de00_low"], told[2]["de00_high"]) == (0.0, None)


def test_no_bloom_says_why() -> None:
    found = fade(PlantingSeason("p", "Ember Post", "Pelargonium", "wall", PLANTED, points=(day(1, 0.3, None),)))
    assert found.reference is None
    assert found.most is None
    assert found.reason == "no photo yet shows at least 5 % bloom cover with a bloom colour"


def test_the_sample_season_fades_lighter() -> None:
    by_code = {s.planting_id: fade(s) for s in seasons()}
    assert by_code["P7"].reason == "this cultivar is grown for its leaves"
    lilac = by_code["P6"].most
    assert lilac
    assert lilac.difference.de00 > 2
    assert lilac.difference.dl > 0
    assert lilac.difference.dc < 0
