"""Figures of comparisons: every curve has its name and its own pattern, every value its interval."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import date, timedelta
from itertools import pairwise

import pytest

from journal_server.analysis.comparison import Group, compare_groups
from journal_server.analysis.same_moment import Moment
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.figures.comparison_curves import MOST_CURVES, comparison_table, draw_comparison, spread
from journal_server.figures.line_patterns import DASHES, mark
from journal_server.figures.ranking import change_words, draw_ranking, ranking_table
from journal_server.measurement.result import Estimate

PLANTED = date(2026, 5, 16)
HOSTILE = '<script>"&'


def group(name: str, level: float, *, days: tuple[int, ...] = (7, 21, 35, 63)) -> Group:
    points = tuple(
        SeasonPoint(
            f"{name} {day}",
            PLANTED + timedelta(days=day),
            canopy_fill=Estimate(level * day / 63, max(0.0, level * day / 63 - 0.03), level * day / 63 + 0.03),
        )
        for day in days
    )
    return Group(name, name, (PlantingSeason(f"planting {name}", name, "Petunia", "Trough", PLANTED, points=points),))


def parts(svg: str, class_name: str) -> list[ET.Element]:
    return [node for node in ET.fromstring(svg).iter() if node.get("class") == class_name]


@pytest.mark.parametrize("by_age", [True, False])
@pytest.mark.parametrize("width", [320, 390, 1000])
def test_every_curve_has_a_name_and_a_pattern_of_its_own(by_age: bool, width: int) -> None:
    groups = [group(f"Number {i}", 0.2 + 0.1 * i) for i in range(MOST_CURVES)]
    svg = draw_comparison(groups, "canopy_fill", by_age=by_age, gap_days=21, width_px=width)
    names = parts(svg, "fig-name")
    assert len(names) == MOST_CURVES
    assert {node.get("stroke-dasharray") for node in parts(svg, "fig-line")} == set(DASHES)
    heights = sorted(float(node.find("{*}text").get("y")) for node in names)  # type: ignore[union-attr, arg-type]
    assert all(below - above >= 13.9 for above, below in pairwise(heights))
    assert len(parts(svg, "fig-date")) == 4 * MOST_CURVES
    assert 'style="' not in svg


def test_a_name_that_does_not_fit_goes_without_its_genus_first() -> None:
    groups = [group("Calibrachoa ‘Tin’", 0.8), group("Iris ‘A’", 0.5), group("in the ground beside the old wall", 0.2)]
    svg = draw_comparison(groups, "canopy_fill", by_age=True, gap_days=21, width_px=320)
    shown = {node.find("{*}text").text for node in parts(svg, "fig-name")}  # type: ignore[union-attr]
    assert {"‘Tin’", "Iris ‘A’"} < shown
    assert any(words and words.startswith("in the") and words.endswith("…") for words in shown)
    assert "<title>Calibrachoa ‘Tin’</title>" in svg


def test_gaps_are_not_joined() -> None:
    svg = draw_comparison([group("One", 0.8)], "canopy_fill", by_age=True, gap_days=21, width_px=390)
    assert len(parts(svg, "fig-line")) == 2, "7 to 21 and 21 to 35, not 35 to 63"


def test_more_curves_than_can_be_told_apart_are_refused() -> None:
    with pytest.raises(ValueError, match="can be told apart"):
        draw_comparison([group(str(i), 0.5) for i in range(9)], "canopy_fill", by_age=True, gap_days=21)


def test_what_people_typed_stays_text() -> None:
    svg = draw_comparison([group(HOSTILE, 0.5)], "canopy_fill", by_age=True, gap_days=21)
    assert "<script>" not in svg
    assert ET.fromstring(svg) is not None


def test_a_group_without_the_number_is_said_and_a_moment_is_marked() -> None:
    none = Group("none", "Nothing", (PlantingSeason("p", "None", "Petunia", "Trough", PLANTED),))
    svg = draw_comparison([group("One", 0.8), none], "canopy_fill", by_age=True, gap_days=21, marked_day=42)
    assert "Nothing measured: Nothing." in svg.replace("\n", " ")
    assert len(parts(svg, "fig-moment")) == 1
    assert [row[0] for row in comparison_table([group("One", 0.8), none], "canopy_fill").rows] == ["One"] * 4


def test_marks_differ_without_colour() -> None:
    assert len({mark(i, 0, 0) for i in range(6)}) == 6


def test_names_are_moved_apart_within_the_picture() -> None:
    assert spread([100, 101, 102], 14, 20, 260) == [100, 114, 128]
    assert spread([255, 258, 260], 14, 20, 260) == [232, 246, 260]
    assert spread([], 14, 20, 260) == []


def ranked(standard: str | None = None):  # type: ignore[no-untyped-def]
    groups = [group("a", 0.8), group("b", 0.78), group("c", 0.3), group("late", 0.5, days=(70,))]
    moment = Moment(days_after_planting=35)
    return compare_groups(groups, "canopy_fill", moment, gap_days=21, standard=standard)


def test_the_ranking_shows_each_interval_and_says_ties() -> None:
    labels = {"a": "Alpha", "b": "Beta", "c": HOSTILE, "late": "Late"}
    svg = draw_ranking(ranked("c"), labels, title="Canopy fill 5 weeks after planting", standard="c")
    rows = parts(svg, "fig-rank")
    assert [row.get("data-group") for row in rows] == ["a", "b", "c"]
    assert "Rank 1–2: Alpha, 44 % (41–47)" in svg
    assert "is a tie" in svg
    assert "One planter each" in svg
    assert len(parts(svg, "fig-standard")) == 1
    assert "<script>" not in svg


def test_a_long_name_is_cut_before_the_word_that_it_is_the_standard() -> None:
    long = "Petunia ‘Very long name that goes on and on Improved Deep Rose’"
    svg = draw_ranking(ranked("c"), {"a": "Alpha", "b": "Beta", "c": long}, title="Fill", standard="c", width_px=320)
    texts = [node.text or "" for node in ET.fromstring(svg).iter() if node.tag.endswith("text")]
    (words,) = [words for words in texts if words.endswith("(the standard)")]
    assert words.startswith("Petunia ‘Very")
    assert "…" in words


def test_the_table_behind_the_ranking_has_those_without_a_value_too() -> None:
    labels = {"a": "Alpha", "b": "Beta", "c": "Gamma", "late": "Late"}
    table = ranking_table(ranked("c"), labels, title="Canopy fill", standard="c")
    assert table.headers[-1] == "against the standard"
    assert table.rows[0][:2] == ("1–2", "Alpha")
    assert table.rows[0][4] == "Beta"
    assert table.rows[-1] == ("not ranked", "Late", "not measured before 25 July", "", "", "")
    without = ranking_table(ranked(), labels, title="Canopy fill")
    assert without.headers[-1] == "tied with"
    assert all(len(row) == len(without.headers) for row in without.rows)


@pytest.mark.parametrize(
    ("of", "change", "words"),
    [
        ("bloom_cover", Estimate(0.12, 0.05, 0.19), "+12 points (+5 to +19)"),
        ("bloom_cover", Estimate(-0.001, -0.05, 0.05), "0 points (−5 to +5)"),
        ("days_to_50", Estimate(17.2, 14.0, 20.4), "+17 days (+14 to +20)"),
        ("weeks_in_bloom", Estimate(-1.25, -2.0, -0.5), "−1.2 weeks (−2.0 to −0.5)"),
    ],
)
def test_differences_in_words(of: str, change: Estimate, words: str) -> None:
    assert change_words(of, change) == words
