"""Drafts of a verdict: sentences whose numbers were measured, reasons for those that are not offered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest
from analysis.sample_season import estimate, seasons

from journal_server.analysis.quotable import QuotableNumber, quotable_numbers
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.analysis.survival import PlantCount, survival
from journal_server.analysis.verdict_drafts.drafts import VerdictDrafts, draft_verdict
from journal_server.analysis.verdict_drafts.material import Beside, Noted, PlantingMaterial, VerdictMaterial
from journal_server.analysis.verdict_drafts.sentences import NotOffered, Quoted, draft
from journal_server.analysis.weather import DayWeather
from journal_server.figures.words import quotable_value, quotable_words

PLANTED, UNTIL = date(2026, 5, 16), date(2026, 10, 1)
EMPTY = PlantingSeason("p", "Chalk Path", "Sutera", "Trough 3", PLANTED)


def day(number: int) -> date:
    return PLANTED + timedelta(days=number)


def point(on: int, **numbers: float) -> SeasonPoint:
    return SeasonPoint(f"day {on}", day(on), **{name: estimate(value) for name, value in numbers.items()})


def course(*covers: tuple[int, float]) -> PlantingSeason:
    return replace(EMPTY, points=tuple(point(on, bloom_cover=cover, spent_share=0.01) for on, cover in covers))


def planting(season: PlantingSeason = EMPTY, counts: Sequence[PlantCount] = (), **more: object) -> PlantingMaterial:
    plants = survival(season.plants, counts)
    counted_on = counts[-1].counted_on if counts else None
    numbers = {n.key: n for n in quotable_numbers(season, {}, survival=plants, counted_on=counted_on)}
    return PlantingMaterial(season, numbers, **{"photos": len(season.points)} | more)  # type: ignore[arg-type]


def material(*plantings: PlantingMaterial, **more: object) -> VerdictMaterial:
    known: dict[str, object] = {"seasons": tuple(one.season for one in plantings)}
    return VerdictMaterial("c", "Sutera ‘Chalk Path’", "Sutera", "container", plantings, UNTIL, **known | more)  # type: ignore[arg-type]


def mate(name: str, season: PlantingSeason, place: str = "container") -> Beside:
    own = replace(season, planting_id=name, cultivar=name)
    return Beside(name, f"Sutera ‘{name}’", "Sutera", place, {name: planting(own).numbers})


def said(drafts: VerdictDrafts) -> dict[str, str]:
    return {sentence.key: worded(sentence.parts) for sentence in drafts.sentences}


def worded(parts: Sequence[str | Quoted]) -> str:
    return "".join(
        one if isinstance(one, str) else quotable_words(one.number) if one.with_bounds else quotable_value(one.number)
        for one in parts
    )


def reasons(drafts: VerdictDrafts) -> dict[str, str]:
    return {one.key: one.reason for one in drafts.not_offered}


def suggested(drafts: VerdictDrafts) -> dict[str, str]:
    return {one.value: worded(one.parts) for one in drafts.suggestions}


def test_a_sentence_whose_number_is_not_known_is_not_offered() -> None:
    number = QuotableNumber("peak", "p", "bloom cover at its peak", "share", reason="no photo")
    assert draft("peak", "flower", "It peaked at ", Quoted(number), ".") == NotOffered("peak", "flower", "no photo")
    with pytest.raises(ValueError, match="about"):
        draft("peak", "gossip", "It peaked.")


@pytest.mark.parametrize("season", seasons(), ids=lambda one: one.planting_id)
def test_no_sentence_of_the_sample_season_holds_an_unknown_number(season: PlantingSeason) -> None:
    one = planting(season)
    found = draft_verdict(
        VerdictMaterial("c", "x", season.genus, "container", (one,), UNTIL, foliage_only=season.foliage_only)
    )
    assert found.sentences
    for sentence in found.sentences:
        assert all(number.estimate for number in sentence.numbers)
        assert worded(sentence.parts).endswith(".")
        assert "not known" not in worded(sentence.parts).replace("is not known", "")
    assert all(one.reason for one in found.not_offered)


def test_the_course_of_a_season_in_plain_sentences() -> None:
    found = said(draft_verdict(material(planting(seasons()[0]))))
    assert found["fill"] == "Half full after 26 days (23–28), nine tenths full after 46 days (40–54)."
    assert found["first_bloom"] == "In flower from week 3."
    assert found["peak"] == "Bloom cover peaked at 47 % (44–50) on 17 June."
    assert found["season_bloom"] == "Bloom cover averaged 18 % (16–19) from 22 May to 22 August."
    assert found["weeks_in_bloom"] == "It held half of its peak bloom or more for 4.5 weeks (4.3–4.8)."
    assert found["spent"] == "Spent blooms came to 13 % (11–15) of the plant, on 22 August: no deadheading was logged."


def test_only_half_of_the_fill_is_told_where_the_rest_is_not_known() -> None:
    points = [point(on, canopy_fill=fill) for on, fill in ((5, 0.05), (12, 0.1), (20, 0.3), (26, 0.5), (32, 0.68))]
    found = draft_verdict(material(planting(replace(EMPTY, points=tuple(points)))))
    known = {"fill_half", "fill_full"} & {*said(found), *reasons(found)}
    assert known == {"fill_half", "fill_full"}
    assert "fill" not in said(found)
    assert "not levelled off" in reasons(found)["fill_full"]


def test_no_photo_gives_no_number_and_says_so() -> None:
    found = draft_verdict(material(planting()))
    assert all(not sentence.numbers for sentence in found.sentences)
    assert said(found)["photos"] == "There is no photo of it, so that nothing was measured."
    assert "peak" in reasons(found)


def test_photos_that_could_not_be_measured_are_counted() -> None:
    found = draft_verdict(material(planting(photos=3)))
    assert said(found)["photos"] == "3 photos of it, and none could be measured."


def test_one_photo_says_that_nothing_is_known_of_the_course() -> None:
    found = draft_verdict(material(planting(course((40, 0.3)))))
    assert said(found)["photos"] == "Measured on 25 June 2026 only: nothing is known of its course."
    assert said(found)["first_bloom"] == "In flower on its first photo already, in week 6."
    assert {"season_bloom", "bloom_last"} <= set(reasons(found))


def test_a_cultivar_grown_for_its_leaves_gets_no_sentence_about_bloom() -> None:
    season = replace(seasons()[0], foliage_only=True)
    found = draft_verdict(material(planting(season), foliage_only=True))
    everything = [*found.sentences, *found.not_offered]
    assert {one.about for one in everything}.isdisjoint({"flower", "colour"})
    assert not any("loom" in text for text in said(found).values())
    assert "spent" not in {one.key for one in everything}
    assert said(found)["full_size"] == "It levelled off with 70 % (67–74) of its frame filled."


def test_an_early_end_a_doubtful_name_and_an_earlier_name_are_said() -> None:
    season = replace(course((10, 0.1), (20, 0.3)), removed_on=day(48))
    doubtful = planting(season, identity_doubtful=True, label_said="Chalk <b>Path</b>", looks_like="a white one")
    found = said(draft_verdict(material(doubtful, earlier_names=("Sutera ‘Lime Path’",))))
    assert found["removed"] == "Removed on 3 July 2026, 48 days after planting: its numbers are of that time only."
    assert (
        found["identity"] == "What it is is in doubt: the label said “Chalk <b>Path</b>”, it looks like “a white one”."
    )
    assert found["renamed"] == "It was called Sutera ‘Lime Path’ before."
    assert found["places"] == "One planter, Trough 3: what it did there may be the place."


def test_a_whole_season_is_no_early_end() -> None:
    assert "removed" not in said(draft_verdict(material(planting(replace(EMPTY, removed_on=day(150))))))


def test_of_two_plantings_each_sentence_names_its_planter() -> None:
    first = planting(course((10, 0.1), (20, 0.3), (30, 0.2)))
    second = planting(replace(course((10, 0.2), (20, 0.6), (30, 0.3)), planting_id="q", place="Pot ‘5’"))
    drafts = draft_verdict(material(first, second))
    peaks = [worded(one.parts) for one in drafts.sentences if one.key == "peak"]
    assert peaks == [
        "Trough 3: bloom cover peaked at 30 % (27–33) on 5 June.",
        "Pot ‘5’: bloom cover peaked at 60 % (57–63) on 5 June.",
    ]
    assert said(drafts)["places"] == "It stood in 2 planters here: Trough 3 and Pot ‘5’."
    assert {(n.planting_id, n.key) for n in drafts.numbers} >= {("p", "peak"), ("q", "peak")}


def test_spent_blooms_that_never_show_are_said_with_the_deadheading_that_was_logged() -> None:
    season = course((10, 0.1), (20, 0.3))
    care = (Noted(day(12), "deadheaded"), Noted(day(15), "deadheaded"), Noted(day(14), "fed"))
    found = said(draft_verdict(material(planting(season, care=care))))
    assert found["spent"] == "Spent blooms were never above 1 % (0–4) of the plant: deadheading was logged twice."
    assert found["care"] == "Care as logged: fed once."
    silent = draft_verdict(material(planting(season)))
    assert said(silent)["spent"].endswith("no deadheading was logged.")
    assert "care" in reasons(silent)
    once = said(draft_verdict(material(planting(course((10, 0.1))))))
    assert once["spent"] == "Spent blooms came to 1 % (0–4) of the plant, on 26 May: no deadheading was logged."


def test_what_was_noted_and_counted() -> None:
    season = replace(EMPTY, plants=5)
    counts = [PlantCount(day(30), 4, "died"), PlantCount(day(50), 3, "lifted for elsewhere")]
    findings = (Noted(day(20), "leggy"), Noted(day(27), "leggy"), Noted(day(27), "dry"))
    one = planting(season, counts, findings=findings, ratings=(3, 4, 4), lifted=1)
    found = said(draft_verdict(material(one)))
    assert found["living"] == "3 of 5 plants were living on 5 July; 1 lifted for elsewhere."
    assert found["findings"] == "Noted on walks: leggy twice, dry once."
    assert found["rating"] == "Rated 4 of 5 overall, the median of ratings given 3 times."


def test_plants_that_nobody_counted_are_not_told_as_living() -> None:
    found = draft_verdict(material(planting(replace(EMPTY, plants=5))))
    assert reasons(found)["living"] == "the plants were not counted after planting"


def moved_colour(last: tuple[float, float, float]) -> PlantingSeason:
    labs = {10: (40.0, 50.0, -30.0), 60: last}
    points = [
        replace(point(on, bloom_cover=0.3), bloom_lab=lab, bloom_error_de00=0.5, white_reference="card")
        for on, lab in labs.items()
    ]
    return replace(EMPTY, points=tuple(points))


FADED, HELD = (50.0, 36.0, -22.0), (40.2, 49.5, -29.8)


def test_a_fade_is_told_with_its_place_in_the_genus() -> None:
    others = (mate("A", moved_colour(HELD)), mate("B", moved_colour((41.0, 48.0, -29.0))))
    text = said(draft_verdict(material(planting(moved_colour(FADED)), beside=others)))["fade"]
    assert text.startswith("The bloom colour faded by dE00 1")
    assert text.endswith(" until 15 July, more than any other of its genus here.")
    alone = said(draft_verdict(material(planting(moved_colour(FADED)))))["fade"]
    assert "genus" not in alone


def test_a_colour_that_moved_within_error_held() -> None:
    text = said(draft_verdict(material(planting(moved_colour(HELD)))))["fade"]
    assert text.startswith("The bloom colour held: it moved by dE00 0")


SIX = ((10, 0.1), (20, 0.5), (30, 0.5), (60, 0.4))


def test_ranks_say_who_is_tied() -> None:
    low = tuple((on, cover / 5) for on, cover in SIX)
    others = (mate("Near", course(*((on, cover + 0.01) for on, cover in SIX))), mate("Far", course(*low)))
    found = said(draft_verdict(material(planting(course(*SIX)), beside=others)))
    assert found["genus_rank"] == (
        "It ranks 1–2 of 3 Sutera in a container here by mean bloom cover over the season, tied with Sutera ‘Near’."
    )


def test_other_kinds_of_place_and_other_genera_are_no_mates() -> None:
    others = (mate("Bed", course(*SIX), "ground"), replace(mate("Other", course(*SIX)), genus="Verbena"))
    found = draft_verdict(material(planting(course(*SIX)), beside=others))
    assert reasons(found)["genus_rank"] == "no other cultivar of Sutera was measured in a container here"


def test_against_the_standard_and_in_the_other_kind_of_place() -> None:
    standard = mate("Std", course(*((on, cover / 2) for on, cover in SIX)))
    ground = planting(replace(course(*((on, cover / 2) for on, cover in SIX)), planting_id="g", place="Bed 1"))
    found = said(
        draft_verdict(material(planting(course(*SIX)), beside=(standard,), standard="Std", elsewhere=(ground,)))
    )
    assert found["against_standard"].startswith(
        "Against the standard Sutera ‘Std’, its mean bloom cover over the season is +"
    )
    assert found["against_standard"].endswith(": more than measuring error.")
    assert found["container_ground"].startswith("Mean bloom cover over the season was 43 %")
    assert " in a container, 22 % " in found["container_ground"]
    assert found["container_ground"].endswith(" in the ground: more than measuring error apart.")


def test_the_standard_is_not_held_against_itself() -> None:
    found = draft_verdict(material(planting(course(*SIX)), standard="c"))
    assert "against_standard" not in {*said(found), *reasons(found)}


def weather(hot: range, known: range = range(1, 139)) -> tuple[DayWeather, ...]:
    return tuple(DayWeather(day(on), 15.0, 35.0 if on in hot else 25.0) for on in known)


def heated(*covers: tuple[int, float], hot: range = range(40, 46), known: range = range(1, 139)) -> VerdictDrafts:
    return draft_verdict(material(planting(course(*covers)), weather=weather(hot, known)))


def test_bloom_over_the_longest_hot_spell() -> None:
    fell = said(heated((10, 0.1), (38, 0.5), (56, 0.2), (90, 0.4)))
    assert fell["heat_days"] == "It stood through 6 days of 32 °C or more."
    assert fell["heat_bloom"].startswith(
        "Over the hot spell of 25 to 30 June bloom cover fell from 50 % (47–53) to 20 %"
    )
    assert "a pause between flushes" in fell["heat_bloom"]
    held = said(heated((10, 0.1), (38, 0.5), (56, 0.49), (90, 0.4)))
    assert "bloom cover held, from 50 %" in held["heat_bloom"]


def test_heat_that_nobody_recorded_is_not_told_as_none() -> None:
    assert reasons(heated(*SIX, known=range(0)))["heat_days"] == "no weather was noted while it stood"
    few = reasons(heated(*SIX, hot=range(0), known=range(1, 11)))
    assert few["heat_days"] == "the highest temperature is known for 10 of the 60 days that it stood"
    some = said(heated(*SIX, hot=range(4, 6), known=range(1, 11)))
    assert some["heat_days"] == "It stood through at least 2 days of 32 °C or more."


def test_a_season_without_heat_says_that_nothing_is_known_of_heat() -> None:
    found = said(heated(*SIX, hot=range(0)))
    assert found["heat_days"] == "It stood through 0 days of 32 °C or more: how it takes heat is not known."


def test_suggestions_rest_on_numbers_and_notes() -> None:
    season = replace(seasons()[2], place="Trough 3")
    noted = (Noted(day(20), "dry"), Noted(day(22), "dry"), Noted(day(30), "caterpillar damage"))
    care = tuple(Noted(day(on), "deadheaded") for on in (20, 30))
    one = planting(season, findings=noted, care=care, afternoon_shade=True)
    found = suggested(draft_verdict(material(one, habit="mounding")))
    assert set(found) == {"container", "filler", "afternoon shade", "deadheading", "spraying", "water"}
    assert found["spraying"] == "Noted on walks: caterpillar damage once."
    assert found["water"] == "Noted on walks: dry twice."


def test_nothing_is_suggested_without_numbers_and_notes() -> None:
    assert draft_verdict(material(planting(), habit="mounding")).suggestions == ()


def test_heat_is_suggested_only_where_bloom_did_not_fall() -> None:
    steady = ((10, 0.4), (38, 0.5), (58, 0.49), (90, 0.4))
    fell = ((10, 0.4), (38, 0.5), (58, 0.1), (90, 0.4))
    assert "heat" in suggested(heated(*steady, hot=range(38, 50)))
    assert "heat" not in suggested(heated(*fell, hot=range(38, 50)))
    assert "heat" not in suggested(heated(*steady, hot=range(38, 42)))


def test_all_numbers_are_given_once_known_or_not() -> None:
    drafts = draft_verdict(material(planting(course(*SIX))))
    keys = [(number.planting_id, number.key) for number in drafts.numbers]
    assert len(keys) == len(set(keys))
    unknown = [number for number in drafts.numbers if number.estimate is None]
    assert unknown
    assert all(number.reason for number in unknown)


def test_a_cultivar_that_stands_nowhere_here_has_no_drafts() -> None:
    assert draft_verdict(material()) == VerdictDrafts((), (), (), ())
