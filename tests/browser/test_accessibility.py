"""Every screen, light and dark, by axe-core 4 (rules of WCAG 2.2 A and AA and its best practices; MPL-2.0).

The screens of the walk, read in the sun, are also held to the enhanced contrast of 7:1 (success criterion 1.4.6).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from browser.serving import Served
from browser.test_every_screen import walk_through
from playwright.sync_api import Page

IN_THE_SUN = ("walk", "visit")


def violations(page: Page, screen: str) -> list[dict[str, Any]]:
    enhanced = screen in IN_THE_SUN
    rules = {"color-contrast-enhanced": {"enabled": enhanced}}
    found: list[dict[str, Any]] = page.evaluate(
        """async (rules) => (await axe.run(document, {rules, resultTypes: ["violations"]})).violations
            .map(({id, help, nodes}) => ({id, help, nodes: nodes.map((node) => node.html.slice(0, 160))}))""",
        rules,
    )
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_screen(season: Served, open_page: Callable[..., Page], scheme: str) -> None:
    page = open_page(season.address, color_scheme=scheme, reduced_motion="reduce")
    page.evaluate(AXE_SCRIPT)
    found = {screen: violations(page, screen) for screen in walk_through(page, season)}
    assert {screen: what for screen, what in found.items() if what} == {}


def test_axe_sees_a_screen_that_is_made_worse(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(season.address)
    page.evaluate(AXE_SCRIPT)
    page.evaluate("() => document.querySelector('main').append(document.createElement('button'))")
    assert [one["id"] for one in violations(page, "today")] == ["button-name"]
