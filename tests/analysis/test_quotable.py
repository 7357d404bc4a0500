"""Numbers that a review may quote: each with its interval, day and photos, or a reason; never an unknown as 0."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest
from analysis.sample_season import estimate, seasons

from journal_server.analysis.quotable import FOR_ITS_LEAVES, OF_BLOOM, WORDS, QuotableNumber, quotable_numbers
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.analysis.survival import PlantCount, Survival, survival
from journal_server.measurement.result import Estimate

PLANTED = date(2026, 5, 16)
NO_PHOTO = PlantingSeason("p", "Chalk Path", "Sutera", "wall", PLANTED)


def by_key(
    season: PlantingSeason,
    methods: dict[str, str] | None = None,
    plants: Survival | None = None,
    counted_on: date | None = None,
) -> dict[str, QuotableNumber]:
    found = quotable_numbers(season, methods or {}, survival=plants, counted_on=counted_on)
    return {number.key: number for number in found}


def point(day: int, **numbers: float) -> SeasonPoint:
    return SeasonPoint(f"day {day}", PLANTED + timedelta(days=day), **{k: estimate(v) for k, v in numbers.items()})


def with_points(*points: SeasonPoint) -> PlantingSeason:
    return replace(NO_PHOTO, points=points)


@pytest.mark.parametrize("season", [*seasons(), NO_PHOTO], ids=lambda s: s.planting_id)
def test_every_key_is_there_once_with_an_estimate_or_a_reason(season: PlantingSeason) -> None:
    found = quotable_numbers(season, {})
    assert [number.key for number in found] == list(WORDS)
    for number in found:
        assert (number.estimate is None) == bool(number.reason)
        if number.estimate:
            assert number.estimate.low <= number.estimate.value <= number.estimate.high
            assert number.photo_ids
            assert number.on
        assert json.loads(json.dumps(number.as_dict(), allow_nan=False)) == number.as_dict()


def test_a_planting_without_photos_has_no_number_at_all() -> None:
    assert [n.estimate for n in quotable_numbers(NO_PHOTO, {})] == [None] * len(WORDS)


def test_one_photo_gives_its_shares_and_no_course() -> None:
    found = by_key(with_points(point(40, canopy_fill=0.5, bloom_cover=0.3, spent_share=0.04)))
    assert {key for key, number in found.items() if number.estimate} == {
        "peak", "first_bloom_week", "bloom_cover_latest", "canopy_fill_latest", "spent_most",
    }  # fmt: skip
    assert found["season_bloom"].reason == "bloom cover was measured on one date only"
    assert found["days_to_50"].reason
    assert "at least 5" in found["days_to_50"].reason


def test_each_number_names_the_photos_and_methods_behind_it() -> None:
    season = with_points(point(10, bloom_cover=0.2), point(20, bloom_cover=0.6), point(30, bloom_cover=0.4))
    found = by_key(season, {"day 10": "learned 2", "day 20": "learned 3", "day 30": "learned 3"})
    peak, mean = found["peak"], found["season_bloom"]
    assert (peak.photo_ids, peak.on, peak.methods) == (("day 20",), PLANTED + timedelta(days=20), ("learned 3",))
    assert (mean.photo_ids, mean.methods) == (("day 10", "day 20", "day 30"), ("learned 2", "learned 3"))
    assert found["bloom_cover_latest"].photo_ids == ("day 30",)


def test_two_photos_of_the_peak_day_are_both_behind_the_peak() -> None:
    other = replace(point(20, bloom_cover=0.6), photo_id="other", photo_ids=("other",))
    found = by_key(with_points(point(10, bloom_cover=0.1), point(20, bloom_cover=0.5), other))
    assert found["peak"].photo_ids == ("day 20", "other")


def test_first_bloom_lies_between_the_photo_before_and_the_first_in_flower() -> None:
    season = with_points(point(7, bloom_cover=0.0), point(14, bloom_cover=0.02), point(21, bloom_cover=0.2))
    assert by_key(season)["first_bloom_week"].estimate == Estimate(3.0, 2.0, 3.0)
    already = with_points(point(14, bloom_cover=0.2))
    assert by_key(already)["first_bloom_week"].estimate == Estimate(2.0, 0.0, 2.0)


def test_never_in_flower_has_a_reason_and_no_week() -> None:
    number = by_key(with_points(point(7, bloom_cover=0.01), point(60, bloom_cover=0.02)))["first_bloom_week"]
    assert (number.estimate, number.reason) == (None, "no photo shows 5 % bloom cover or more")


def test_bloom_that_goes_on_after_the_last_photo_is_said_as_at_least() -> None:
    assert by_key(with_points(point(10, bloom_cover=0.1), point(20, bloom_cover=0.5)))["weeks_in_bloom"].at_least
    ended = with_points(point(10, bloom_cover=0.1), point(20, bloom_cover=0.5), point(30, bloom_cover=0.1))
    assert not by_key(ended)["weeks_in_bloom"].at_least


def test_a_cultivar_grown_for_its_leaves_has_no_number_of_bloom() -> None:
    season = replace(with_points(point(10, canopy_fill=0.3, bloom_cover=0.2, spent_share=0.1)), foliage_only=True)
    found = by_key(season)
    assert {found[key].reason for key in OF_BLOOM} == {FOR_ITS_LEAVES}
    assert found["canopy_fill_latest"].estimate


def coloured(day: int, lab: tuple[float, float, float], **more: object) -> SeasonPoint:
    colour = {"bloom_lab": lab, "bloom_error_de00": 1.0, "white_reference": "card"} | more
    return replace(point(day, bloom_cover=0.3), **colour)  # type: ignore[arg-type]


def test_fade_is_the_farthest_day_without_doubt_and_names_both_days() -> None:
    season = with_points(
        coloured(10, (40, 50, -30)), coloured(40, (48, 42, -26)), coloured(60, (70, 20, -10), colour_doubtful=True)
    )
    number = by_key(season)["fade_most"]
    assert number.photo_ids == ("day 10", "day 40")
    assert number.estimate
    assert number.estimate.low > 0


def test_a_fade_that_may_be_the_light_is_not_quoted() -> None:
    season = with_points(coloured(10, (40, 50, -30)), coloured(60, (70, 20, -10), colour_doubtful=True))
    number = by_key(season)["fade_most"]
    assert number.estimate is None
    assert number.reason == "in that light the colour could not be read surely"


def test_plants_are_quoted_from_counts_and_not_from_silence() -> None:
    counts = [PlantCount(date(2026, 7, 1), 4, "died")]
    counted = by_key(NO_PHOTO, plants=survival(5, counts), counted_on=date(2026, 7, 1))
    assert counted["plants_living"].estimate == Estimate(4.0, 4.0, 4.0)
    assert counted["survival"].estimate
    assert counted["survival"].estimate.value == pytest.approx(0.8)
    assert counted["survival"].on == date(2026, 7, 1)
    silent = by_key(NO_PHOTO, plants=survival(5, []))
    assert silent["plants_planted"].estimate == Estimate(5.0, 5.0, 5.0)
    assert silent["survival"].reason == silent["plants_living"].reason == "the plants were not counted after planting"


def test_a_number_is_an_estimate_or_a_reason_and_never_both() -> None:
    with pytest.raises(ValueError, match="either"):
        QuotableNumber("peak", "p", "bloom cover at its peak", "share")
    with pytest.raises(ValueError, match="either"):
        QuotableNumber("peak", "p", "bloom cover at its peak", "share", Estimate(0, 0, 0), reason="no")
