"""Several photos of one day become one honest point."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.analysis.series import (
    PlantingSeason,
    SeasonPoint,
    combine_day,
    days_after_planting,
    points_by_day,
    weeks_after_planting,
)
from journal_server.measurement.result import Estimate

DAY = date(2026, 6, 17)


def photo(name: str, value: float, half: float = 0.04, **more: object) -> SeasonPoint:
    return SeasonPoint(name, DAY, canopy_fill=Estimate(value, value - half, value + half), **more)


def test_days_and_weeks_count_from_the_planting_date() -> None:
    assert days_after_planting(date(2026, 5, 16), date(2026, 7, 1)) == 46
    assert weeks_after_planting(date(2026, 5, 16), date(2026, 7, 1)) == pytest.approx(46 / 7)


def test_a_single_photo_is_left_as_it_is() -> None:
    point = photo("a", 0.5)
    assert combine_day([point]) is point
    assert point.photo_ids == ("a",)


def test_agreeing_photos_keep_the_width_of_one_since_their_error_is_shared() -> None:
    combined = combine_day([photo("a", 0.5), photo("b", 0.5), photo("c", 0.5)])
    assert combined.canopy_fill == Estimate(0.5, pytest.approx(0.46), pytest.approx(0.54))
    assert combined.photo_ids == ("a", "b", "c")


def test_differing_photos_widen_the_interval_to_hold_both() -> None:
    fill = combine_day([photo("a", 0.5), photo("b", 0.7)]).canopy_fill
    assert fill is not None
    assert fill.value == pytest.approx(0.6)
    assert fill.low < 0.5
    assert fill.high > 0.7


def test_a_number_missing_on_one_photo_comes_from_the_other() -> None:
    combined = combine_day([photo("a", 0.5), SeasonPoint("b", DAY)])
    assert combined.canopy_fill == photo("a", 0.5).canopy_fill
    assert combined.bloom_cover is None


def test_colours_come_from_the_photos_with_a_card() -> None:
    with_card = photo("a", 0.5, bloom_lab=(50.0, 10.0, 0.0), bloom_hex="#806070", white_reference="card")
    without = photo("b", 0.5, bloom_lab=(70.0, 0.0, 30.0), bloom_hex="#ffff00")
    combined = combine_day([without, with_card])
    assert (combined.bloom_lab, combined.bloom_hex) == ((50.0, 10.0, 0.0), "#806070")
    assert combined.white_reference == "card"


def test_slots_are_combined_slot_by_slot_where_the_counts_agree() -> None:
    slots = [(0.2, 0.4), (0.4, 0.6), (0.9, 0.9, 0.9)]
    combined = combine_day([photo(str(i), 0.5, slots=s) for i, s in enumerate(slots)])
    assert combined.slots == pytest.approx((0.3, 0.5))


def test_points_come_in_order_of_date_whatever_the_order_of_the_photos() -> None:
    later = SeasonPoint("c", date(2026, 7, 1))
    season = PlantingSeason(
        "p", "Tin Whistle", "Calibrachoa", "wall", date(2026, 5, 16), points=(later, photo("a", 0.5))
    )
    assert [p.taken_on for p in points_by_day(season)] == [DAY, date(2026, 7, 1)]


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6))
def test_the_combined_interval_holds_the_combined_value(values: list[float]) -> None:
    fill = combine_day([photo(str(i), value) for i, value in enumerate(values)]).canopy_fill
    assert fill is not None
    assert fill.low <= fill.value <= fill.high
    assert min(values) <= fill.value <= max(values)


@pytest.mark.parametrize("code", ["red", "#fff", "#12345g", "", "#123456 "])
def test_only_full_colour_codes_are_taken(code: str) -> None:
    with pytest.raises(ValueError, match="a colour is #rrggbb"):
        SeasonPoint("a", DAY, bloom_hex=code)
