"""The words of the season figures in a real typeface: none leaves the figure, none lies on another."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from analysis.sample_season import seasons, weather
from playwright.sync_api import Browser

from journal_server.analysis.series import SeasonPoint
from journal_server.analysis.summary import summarise
from journal_server.figures.curves import CURVES, draw_curve
from journal_server.figures.lanes import CareMark
from journal_server.figures.slots import draw_slots
from journal_server.figures.swatches import draw_swatches
from journal_server.figures.timeline import draw_timeline

BOXES = """() => [...document.querySelectorAll("svg")].map(svg => ({
  name: svg.id, width: svg.width.baseVal.value, height: svg.height.baseVal.value,
  texts: [...svg.querySelectorAll("text")].map(text => {
    const {x, y, width, height} = text.getBBox();
    return {words: text.textContent, left: x, right: x + width, top: y + height * 0.2, bottom: y + height * 0.8};
  }),
}))"""


def hardly_in_bloom(point: SeasonPoint) -> SeasonPoint:
    """Its bloom cover is told as "under 1 %", the longest of all."""
    assert point.bloom_cover
    return replace(point, bloom_cover=replace(point.bloom_cover, value=0.003, low=0.0, high=0.01))


def drawn(width: int) -> list[str]:
    first, *others = seasons()
    long_name = replace(
        first, cultivar="Of a Length That No Label in Any Garden Ever Had", place="the far end of the wall"
    )
    hardly = replace(others[1], points=(*others[1].points[:-1], hardly_in_bloom(others[1].points[-1])))
    care = [CareMark(date(2026, 6, 6), "deadheaded and trimmed all round", ("P1",))]
    parts = [draw_timeline([long_name, hardly, *others], width_px=width, weather=weather(), care=care)]
    for season in (first, others[2], others[5]):
        summary = summarise(season)
        code = season.planting_id
        parts += [draw_curve(season, of, summary=summary, width_px=width, name=f"{code}-{of}") for of in CURVES]
        parts.append(draw_slots(season, summary=summary, width_px=width, name=f"{code}-slots"))
        parts.append(draw_swatches(season, summary.fade, width_px=width, name=f"{code}-swatches"))
    return parts


def overlap(a: dict[str, Any], b: dict[str, Any]) -> bool:
    across = min(a["right"], b["right"]) - max(a["left"], b["left"])
    return across > 0.5 and min(a["bottom"], b["bottom"]) > max(a["top"], b["top"])


@pytest.mark.parametrize("width", [300, 358, 390, 720, 1200])
def test_words_stay_inside_and_apart(browser: Browser, width: int) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.set_content("".join(drawn(width)))
    figures = page.evaluate(BOXES)
    page.close()
    assert len(figures) == 25
    for figure in figures:
        texts = figure["texts"]
        assert texts
        for i, text in enumerate(texts):
            assert text["left"] >= -0.5, (figure["name"], text)
            assert text["right"] <= width + 0.5, (figure["name"], text)
            assert text["bottom"] <= figure["height"], (figure["name"], text)
            clash = [other["words"] for other in texts[:i] if overlap(text, other)]
            assert not clash, (figure["name"], text["words"], clash)
