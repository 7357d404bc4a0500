"""Every figure of a season: well-formed, deterministic, tappable, and unbroken by anything missing or strange."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from analysis.sample_season import seasons, weather
from hypothesis import given, settings
from hypothesis import strategies as st

from journal_server.analysis.fade import LIGHT_DOUBT, fade
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.analysis.summary import summarise
from journal_server.analysis.weather import DayWeather
from journal_server.domain.units import Units
from journal_server.figures.curves import CURVES, draw_curve
from journal_server.figures.lanes import CareMark
from journal_server.figures.slots import draw_slots
from journal_server.figures.svg import text_width
from journal_server.figures.swatches import draw_swatches
from journal_server.figures.tables import curve_table, slots_table, swatch_table, timeline_table
from journal_server.figures.timeline import draw_timeline
from journal_server.measurement.result import Estimate

SVG = "{http://www.w3.org/2000/svg}"
#: Attributes that hold words of the journal and may say anything.
WORDS = {"data-photo", "data-planting", "class"}
PLANTED = date(2026, 5, 16)
CARE = [
    CareMark(date(2026, 6, 6), "fed", ("P1", "P2"), "liquid feed, label rate"),
    CareMark(date(2026, 6, 6), "fed", ("P3",)),
    CareMark(date(2026, 6, 20), "trimmed", ("P3",), "<hard>"),
]


def figures_of(season: PlantingSeason, width: int = 390) -> dict[str, str]:
    summary = summarise(season)
    drawn = {of: draw_curve(season, of, summary=summary, width_px=width) for of in CURVES}
    drawn["timeline"] = draw_timeline([season], width_px=width, weather=weather(), care=CARE)
    drawn["slots"] = draw_slots(season, summary=summary, width_px=width)
    drawn["swatches"] = draw_swatches(season, summary.fade, width_px=width)
    return drawn


def check_well_formed(svg: str, width: int) -> ET.Element:
    root = ET.fromstring(svg)
    assert root.get("role") == "img"
    assert root.get("width") == str(width)
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert set((root.get("aria-labelledby") or "").split()) <= set(ids)
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(ids)
    assert (root.findtext(f"{SVG}title") or "").strip()
    assert (root.findtext(f"{SVG}desc") or "").strip()
    for element in root.iter():
        for key in set(element.attrib) - WORDS:
            assert not re.search("nan|inf", element.attrib[key]), element.attrib
    assert "<script" not in svg
    assert " style=" not in svg
    return root


@pytest.mark.parametrize("width", [390, 1200])
@pytest.mark.parametrize("season", seasons(), ids=lambda s: s.planting_id)
def test_the_sample_season_draws_well_formed_figures(season: PlantingSeason, width: int) -> None:
    for svg in figures_of(season, width).values():
        check_well_formed(svg, width)


def test_the_same_numbers_give_the_same_bytes() -> None:
    season = seasons()[0]
    shuffled = PlantingSeason(**{**vars(season), "points": season.points[::-1]})
    assert figures_of(season) == figures_of(shuffled)


def test_no_text_is_smaller_than_eleven_pixels_or_outside_the_width() -> None:
    """Here where text starts or ends; tests/browser/test_figure_text.py sees how long it is."""
    for season in seasons():
        for svg in figures_of(season).values():
            for element in ET.fromstring(svg).iter(f"{SVG}text"):
                sizes = [e.get("font-size") for e in element.iter() if e.get("font-size")]
                assert sizes
                assert all(float(size) >= 11 for size in sizes if size)
                assert 0 <= float(element.get("x", "-1")) <= 390


def test_each_measured_day_can_be_tapped_and_tells_its_numbers() -> None:
    root = ET.fromstring(draw_timeline(seasons(), weather=weather(), care=CARE))
    days = [e for e in root.iter() if e.get("class") == "fig-date"]
    assert len(days) == 64
    july = next(g for g in days if g.get("data-photo") == "P1-2026-07-01")
    assert july.get("data-date") == "2026-07-01"
    row = next(g for g in root.iter(f"{SVG}g") if july in list(g.iter()) and g.get("data-planting"))
    assert row.get("data-planting") == "P1"
    assert july.findtext(f"{SVG}title") == "1 July: fill 65 %, bloom 33 %"


def test_on_a_phone_rows_of_one_cultivar_are_told_apart_by_their_place() -> None:
    one = seasons()[0]
    twice = [replace(one, place=place) for place in ("Trough A", "Bed B")]
    names = ["".join(text.itertext()) for text in ET.fromstring(draw_timeline(twice, width_px=358)).iter(f"{SVG}text")]
    assert [name for name in names if one.cultivar in name] == [f"‘{one.cultivar}’ · {row.place}" for row in twice]
    long = [replace(row, cultivar="Very long name that goes on and on") for row in twice]
    below = [text.text for text in ET.fromstring(draw_timeline(long, width_px=358)).iter(f"{SVG}text")]
    assert {"Trough A", "Bed B"} < set(below), "where the name takes the line, the place stands below it"


def texts_at(svg: str, *wanted: str) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of these words, as wide as they are reckoned to be."""
    found = {text.text: text for text in ET.fromstring(svg).iter(f"{SVG}text")}
    boxes = []
    for words in wanted:
        x, y = float(found[words].get("x", 0)), float(found[words].get("y", 0))
        left = x - text_width(words, 11) * (found[words].get("text-anchor") == "end")
        boxes.append((left, y - 9, left + text_width(words, 11), y + 2))
    return boxes


def so_far() -> list[PlantingSeason]:
    """Each planting of the sample season as it was after each of its photos from the fourth on."""
    return [replace(one, points=one.points[:n]) for one in seasons() for n in range(4, len(one.points) + 1)]


@pytest.mark.parametrize("width", [316, 390, 656])
def test_the_words_at_half_and_nine_tenths_never_lie_on_each_other(width: int) -> None:
    both = 0
    for season in so_far():
        svg = draw_curve(season, "canopy_fill", summary=summarise(season), width_px=width, height_px=90)
        texts = {text.text for text in ET.fromstring(svg).iter(f"{SVG}text") if text.get("opacity")}
        if svg.count(">50 %</text>") == 2 and "90 %" in texts:
            half, nearly = texts_at(svg, "50 %", "90 %")
            assert half[2] <= nearly[0] or nearly[2] <= half[0] or nearly[3] <= half[1]
            both += 1
    assert both > 20


@pytest.mark.parametrize("width", [316, 390, 656])
def test_the_word_at_the_peak_stands_above_the_intervals(width: int) -> None:
    told = 0
    for season in so_far():
        svg = draw_curve(season, "bloom_cover", summary=summarise(season), width_px=width)
        word = next((text for text in ET.fromstring(svg).iter(f"{SVG}text") if "peak, " in (text.text or "")), None)
        if word is None:
            continue
        ((left, _, right, bottom),) = texts_at(svg, str(word.text))
        for day in ET.fromstring(svg).iter(f"{SVG}path"):
            x, top = map(float, (re.findall(r"M([\d.]+) ([\d.]+)", day.get("d", ""))[1]))
            if day.get("class") == "fig-interval" and left < x + 3 < right:
                assert bottom <= top or top <= 36, (season.cultivar, bottom, top)
        told += 1
    assert told > 20


def test_the_ribbon_is_painted_in_the_colours_measured() -> None:
    season = seasons()[5]
    root = ET.fromstring(draw_timeline([season]))
    gradients = {g.get("id", ""): [s.get("stop-color") for s in g] for g in root.iter(f"{SVG}linearGradient")}
    assert gradients["timeline-0-0-bloom"] == [p.bloom_hex for p in season.points if p.bloom_hex]
    assert gradients["timeline-0-0-leaf"] == [p.foliage_hex for p in season.points]
    painted = {code for codes in gradients.values() for code in codes}
    measured = {p.bloom_hex for p in season.points} | {p.foliage_hex for p in season.points}
    assert painted <= measured


def ribbon_runs(svg: str) -> int:
    return sum(g.get("class") == "fig-ribbon" for g in ET.fromstring(svg).iter(f"{SVG}g"))


def test_a_long_time_without_a_photo_is_a_gap() -> None:
    season = seasons()[0]
    fewer = PlantingSeason(**{**vars(season), "points": (*season.points[:3], *season.points[5:])})
    assert ribbon_runs(draw_timeline([season])) == 1
    assert ribbon_runs(draw_timeline([fewer])) == 2
    assert ribbon_runs(draw_timeline([fewer], gap_days=60)) == 1


def test_unmeasured_flowers_are_grey_and_never_leaves() -> None:
    season = seasons()[0]
    bare = tuple(
        SeasonPoint(p.photo_id, p.taken_on, canopy_fill=p.canopy_fill, foliage_hex=p.foliage_hex) for p in season.points
    )
    svg = draw_timeline([PlantingSeason(**{**vars(season), "points": bare})])
    assert "flowers not measured" in svg
    assert "url(#timeline-0-0-leaf)" not in svg
    assert "flowers not measured" not in draw_timeline([season])


def test_groups_of_slots_never_overlap() -> None:
    season = seasons()[3]
    weekly = tuple(
        SeasonPoint(str(week), PLANTED + timedelta(days=7 * week), slots=(0.3, 0.5, 0.6, 0.7, 0.4))
        for week in range(25)
    )
    dense = PlantingSeason(**{**vars(season), "points": weekly})
    for width in (300, 390, 1200):
        root = ET.fromstring(draw_slots(dense, summary=summarise(dense), width_px=width))
        groups = [g for g in root.iter(f"{SVG}g") if g.get("class") == "fig-date"]
        spans = []
        for group in groups:
            bars = group.findall(f"{SVG}rect")
            lefts = [float(bar.get("x", "")) for bar in bars]
            spans.append((min(lefts), max(x + float(bar.get("width", "")) for x, bar in zip(lefts, bars, strict=True))))
        assert groups[-1].get("data-photo") == "24"
        assert all(before[1] < after[0] for before, after in pairwise(spans))


def test_care_and_weather_are_told_in_words() -> None:
    svg = draw_timeline(seasons(), weather=weather(), care=CARE)
    assert "heat, 32 °C or more: 2 days" in svg
    assert "25 July: 33 °C" in svg
    assert "6 June: fed 3 plantings (liquid feed, label rate)" in svg
    assert "20 June: trimmed 1 planting (&lt;hard&gt;)" in svg


def test_weather_that_was_not_recorded_is_not_taken_for_dry_or_cool() -> None:
    svg = draw_timeline(seasons(), weather=[DayWeather(date(2026, 6, 6), tmin_c=9.0)])
    assert "rain: not recorded" in svg
    assert "32 °C or more: not recorded" in svg


def test_a_forecast_is_hollow_said_and_not_counted_among_the_measured() -> None:
    ahead = DayWeather(date(2026, 8, 21), tmax_c=36, rain_mm=25.4, forecast=True)
    svg = draw_timeline(seasons(), weather=[*weather(), ahead], units=Units("°F", "inches"))
    assert "heat, 89.6 °F or more: 2 days, 1 more forecast" in svg
    assert "21 August: 97 °F, forecast" in svg
    bars = [rect for rect in ET.fromstring(svg).iter(f"{SVG}rect") if "forecast" in "".join(rect.itertext())]
    assert [bar.get("fill") for bar in bars] == ["none", "none"]
    without = draw_timeline(seasons(), weather=weather(), units=Units("°F", "inches"))
    (rain,) = re.findall(r"rain: [0-9.]+ in", without)
    assert rain in svg


def test_empty_trials_and_plantings_say_so() -> None:
    assert "Nothing is planted yet." in draw_timeline([])
    bare = PlantingSeason("p", "Chalk Path", "Sutera", "wall", PLANTED)
    drawn = figures_of(bare)
    assert "no photo yet" in drawn["timeline"]
    assert "Canopy fill was not measured on any date" in drawn["canopy_fill"]
    for svg in drawn.values():
        check_well_formed(svg, 390)


def test_there_is_no_curve_of_something_else() -> None:
    season = seasons()[0]
    with pytest.raises(ValueError, match="no curve of 'height'"):
        draw_curve(season, "height", summary=summarise(season))


def test_hostile_names_are_words() -> None:
    hostile = "<script>alert('1')</script>&\"\x00"
    season = PlantingSeason(
        hostile,
        hostile,
        hostile,
        hostile,
        PLANTED,
        points=(SeasonPoint(hostile, PLANTED, canopy_fill=Estimate(0.5, 0.4, 0.6)),),
    )
    for svg in [*figures_of(season).values(), draw_timeline([season], title=hostile, width_px=1000)]:
        check_well_formed(svg, 1000 if 'width="1000"' in svg else 390)


def test_tables_hold_the_same_numbers() -> None:
    season = seasons()[0]
    table = timeline_table(seasons())
    assert len(table.rows) == 64
    assert table.rows[3] == (
        "Petunia ‘Plum Gaslight’",
        "south-west, full sun",
        "1 July",
        "week 7",
        "65 % (62–68)",
        "33 % (30–36)",
        "6 % (4–8)",
        season.points[3].bloom_hex,
    )
    assert curve_table(season, "spent_share").rows[3] == ("1 July", "week 7", "46", "6 % (4–8)")
    assert slots_table(season).rows[0][2:] == ("11 %", "10 %", "10 %", "11 %", "0.96 (0.90–1.02)")
    assert swatch_table(season, summarise(season).fade).rows[0][3:] == (
        "0.0",
        "+0.0",
        "+0.0",
        "+0.0",
        "",
    )
    for shown in (
        table,
        curve_table(season, "canopy_fill"),
        slots_table(season),
        swatch_table(season, summarise(season).fade),
    ):
        assert all(len(row) == len(shown.headers) for row in shown.rows)


def test_a_doubtful_swatch_is_marked_and_its_fade_not_told_as_fact() -> None:
    season = seasons()[0]
    bloomed = [p for p in season.points if p.bloom_lab]
    burnt = replace(season, points=(bloomed[0], replace(bloomed[1], colour_doubtful=True)))
    drawn = draw_swatches(burnt, fade(burnt))
    assert drawn.count("stroke-dasharray") == 1
    assert f"which is doubtful: {LIGHT_DOUBT}" in drawn
    sure = replace(season, points=tuple(bloomed[:2]))
    assert "oubtful" not in draw_swatches(sure, fade(sure))


def test_the_ribbon_shows_no_fade_that_may_be_the_light() -> None:
    season = seasons()[0]
    doubtful = [
        replace(p, bloom_hex="#fefefe", colour_doubtful=True) if i == 3 else p for i, p in enumerate(season.points)
    ]
    drawn = draw_timeline([replace(season, points=tuple(doubtful))])
    assert "#fefefe" not in drawn
    assert str(doubtful[2].bloom_hex) in drawn
    sure_before_the_first_flower = [replace(p, colour_doubtful=i > 0) for i, p in enumerate(season.points)]
    assert season.points[0].bloom_hex is None
    assert str(season.points[3].bloom_hex) in draw_timeline(
        [replace(season, points=tuple(sure_before_the_first_flower))]
    )
    never_sure = tuple(replace(p, colour_doubtful=True) for p in season.points)
    assert str(season.points[3].bloom_hex) in draw_timeline([replace(season, points=never_sure)])


shares = st.none() | st.builds(
    lambda value, below, above: Estimate(value, max(0.0, value - below), value + above),
    st.floats(0, 3),
    st.floats(0, 0.5),
    st.floats(0, 0.5),
)
hexes = st.none() | st.sampled_from(["#aa3355", "#ffffff", "#000000"])
labs = st.none() | st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90))
points = st.builds(
    SeasonPoint,
    photo_id=st.text(max_size=5),
    taken_on=st.integers(-5, 400).map(lambda days: PLANTED + timedelta(days=days)),
    canopy_fill=shares,
    bloom_cover=shares,
    flower_to_leaf=shares,
    spent_share=shares,
    spill_cm=shares,
    evenness=shares,
    slots=st.none() | st.lists(st.floats(0, 1), min_size=1, max_size=9).map(tuple),
    bloom_lab=labs,
    bloom_hex=hexes,
    foliage_hex=hexes,
)
plantings = st.builds(
    PlantingSeason,
    planting_id=st.text(max_size=5),
    cultivar=st.text(max_size=40),
    genus=st.text(max_size=20),
    place=st.text(max_size=60),
    planted_on=st.integers(0, 60).map(lambda days: PLANTED + timedelta(days=days)),
    removed_on=st.none() | st.integers(0, 200).map(lambda days: PLANTED + timedelta(days=days)),
    foliage_only=st.booleans(),
    points=st.lists(points, max_size=8).map(tuple),
)


@settings(max_examples=60, deadline=None)
@given(plantings, st.integers(300, 1400))
def test_no_season_breaks_a_figure(season: PlantingSeason, width: int) -> None:
    for svg in figures_of(season, width).values():
        check_well_formed(svg, width)
    for table in (timeline_table([season]), slots_table(season), curve_table(season, "spill_cm")):
        assert all(len(row) == len(table.headers) for row in table.rows)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(plantings, max_size=3),
    st.lists(
        st.builds(
            DayWeather,
            st.dates(PLANTED, date(2026, 9, 1)),
            *[st.none() | st.floats(-30, 50)] * 2,
            st.none() | st.floats(0, 400),
        ),
        max_size=6,
    ),
    st.lists(
        st.builds(
            CareMark,
            st.dates(PLANTED, date(2026, 9, 1)),
            st.text(max_size=30),
            st.lists(st.text(max_size=3)).map(tuple),
            st.text(max_size=9),
        ),
        max_size=6,
    ),
)
def test_no_weather_or_care_breaks_the_timeline(
    rows: list[PlantingSeason], days: list[DayWeather], care: list[CareMark]
) -> None:
    check_well_formed(draw_timeline(rows, weather=days, care=care), 390)


@pytest.mark.parametrize("width", [390, 1200])
def test_headings_stand_between_the_rows_and_a_number_beside_them(width: int) -> None:
    rows = seasons()
    svg = draw_timeline(
        rows,
        width_px=width,
        headings={0: "full sun", 3: "shade & more"},
        also={rows[4].planting_id: "season bloom not known"},
    )
    root = check_well_formed(svg, width)
    groups = [g for g in root.iter(f"{SVG}g") if g.get("class") == "fig-group"]
    assert ["".join(g.itertext()) for g in groups] == ["Full sun", "Shade & more"]
    tops = [float(g.find(f"{SVG}line").get("y1", "")) for g in groups]  # type: ignore[union-attr]
    bounds = [
        [float(r.get("y", "")) for r in row.iter(f"{SVG}rect") if r.get("class") == "fig-date"]
        for row in root.iter(f"{SVG}g")
        if row.get("class") == "fig-row"
    ]
    assert tops[0] < min(bounds[0])
    assert max(bounds[2]) < tops[1] < min(bounds[3])
    (beside,) = (t for t in root.iter(f"{SVG}text") if t.text == "season bloom not known")
    left = float(beside.get("x", ""))
    assert beside.get("text-anchor") == "end" or left + text_width("season bloom not known", 11) <= width
    assert (
        float(root.get("height", ""))
        == float(ET.fromstring(draw_timeline(rows, width_px=width)).get("height", "")) + 2 * 34
    )


def test_the_table_has_a_column_for_what_it_was_grouped_by() -> None:
    rows = seasons()[:2]
    table = timeline_table(rows, {"light": {season.planting_id: "shade" for season in rows}})
    assert table.headers[:4] == ("planting", "place", "light", "date")
    assert {row[2] for row in table.rows} == {"shade"}
    assert all(len(row) == len(table.headers) for row in table.rows)
