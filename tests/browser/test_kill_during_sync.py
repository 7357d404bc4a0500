"""A few rounds of what ``browser.kill_during_sync`` does many times."""

from __future__ import annotations

from browser.kill_during_sync import kill_again_and_again
from playwright.sync_api import Playwright


def test_a_server_killed_while_a_phone_sends_loses_and_doubles_nothing(
    playwright_driver: Playwright, chromium: str
) -> None:
    tally = kill_again_and_again(playwright_driver, chromium, 3, seed=7)
    assert tally.rounds == 3
    assert len(tally.photos) == 9
    assert (tally.lost, tally.doubled, tally.left) == ([], [], [])
