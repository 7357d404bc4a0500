"""The season on a phone without a signal: after one visit with the server, the latest trial is still all there."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from browser.phone import Phone
from browser.records import records
from browser.serving import Served
from browser.test_sync import MADE
from playwright.sync_api import Page, expect

AS_OF = re.compile(r"^As of \d+\s[A-Z][a-z]+\s\d{4}, \d\d:\d\d: kept on this device")

KEPT = """async (address) => {
    const keys = await (await caches.open("figures and numbers")).keys();
    return keys.filter(({ url }) => url.includes(address)).length;
}"""


def wait_until_kept(page: Page, address: str, count: int) -> None:
    until = time.monotonic() + 120
    while page.evaluate(KEPT, address) < count:
        assert time.monotonic() < until, f"{address} was not brought ahead"
        page.wait_for_timeout(200)


def test_season_and_every_planting_are_there_after_one_visit(untouched_season: Served, phone: Phone) -> None:
    plantings = [planting.id for planting in records(untouched_season.journal, "planting")]
    page = phone.ready_for_the_walk(untouched_season.address)
    wait_until_kept(page, "/curves?width=", len(plantings))
    wait_until_kept(page, "/summary", len(plantings))
    wait_until_kept(page, "/api/timeline.svg", 1)
    untouched_season.stop()
    try:
        page.goto(f"{untouched_season.address}/#/season")
        page.reload()
        expect(page.locator("main svg .fig-row")).to_have_count(len(plantings))
        expect(page.locator(".as-of")).to_have_text(AS_OF)
        page.get_by_text("The numbers as a table").click()
        expect(page.locator(".behind table tbody tr").first).to_be_visible()
        for planting_id in plantings:
            page.goto(f"{untouched_season.address}/#/plantings/{planting_id}")
            expect(page.locator(".figure svg")).to_have_count(6)
            expect(page.locator("h2:has-text('Its season') ~ * .as-of").first).to_have_text(AS_OF)
            expect(page.get_by_role("row", name="half full after")).to_be_visible()
            expect(page.locator(".problem:visible")).to_have_count(0)
        page.set_viewport_size({"width": 844, "height": 390})
        page.goto(f"{untouched_season.address}/#/season")
        expect(page.locator("main svg .fig-row")).to_have_count(len(plantings))
    finally:
        untouched_season.start()
    page.reload()
    expect(page.locator("main svg .fig-row")).to_have_count(len(plantings))
    expect(page.locator(".as-of")).to_have_count(0)


@pytest.fixture
def run(season: Served, open_page: Callable[..., Page]) -> Callable[[str], Any]:
    page = open_page(season.address)
    return lambda script: page.evaluate(f"async () => {{ {MADE} {AHEAD} {script} }}")


AHEAD = """
    const { seasonAhead } = await import("/sync/season_ahead.js");
    const { KEPT_SINCE } = await import("/store/seen_cache.js");
    const record = (kind, id, seq, fields = {}) => ({ kind, id, seq, version: 1, deleted: false, fields });
    const trialOf = (plantings) => [
        record("trial", "t", 1, { title: "T", year: 2026 }),
        record("cultivar", "c", 2), record("planter", "r", 3),
        ...Array.from({ length: plantings }, (_, n) => record("planting", `p${n}`, 10 + n,
            { trial_id: "t", cultivar_id: "c", planter_id: "r", planted_on: "2026-05-16" })),
    ];
    const made = (records, more = {}) => {
        const store = new RecordStore();
        store.receive(records);
        const values = new Map(), cache = new Set(), asked = [];
        let flying = 0, most = 0;
        const device = { get: async (name) => values.get(name), set: async (name, value) => values.set(name, value) };
        const fetch = async (address) => {
            asked.push(address);
            most = Math.max(most, ++flying);
            await later();
            flying -= 1;
            if (more.lost?.(address)) throw new TypeError("network");
            cache.add(address);
            return new Response("{}", { headers: more.headers ?? {} });
        };
        const bring = seasonAhead({ store, device, fetch, kept: async () => new Set(cache), width: () => 358,
            mayFetch: () => more.may?.(asked) ?? true, origin: "", idle: async () => {} });
        return { store, bring, asked, cache, most: () => most };
    };
"""


def test_two_at_a_time_the_timeline_first_and_nothing_twice(run: Callable[[str], Any]) -> None:
    found = run(
        """const one = made(trialOf(3));
        const all = await one.bring();
        const first = one.asked.splice(0);
        await one.bring();
        return { all, first, again: one.asked, most: one.most() };"""
    )
    assert found["all"] is True
    assert found["first"][0] == "/api/timeline.svg?trial=t&width=358"
    assert set(found["first"]) == {
        "/api/timeline.svg?trial=t&width=358", "/api/timeline?trial=t", "/api/look-at?trial=t&",
        *(f"/api/plantings/p{n}/{one}" for n in range(3) for one in ("curves?width=358", "summary")),
    }  # fmt: skip
    assert len(found["first"]) == 9
    assert (found["again"], found["most"]) == ([], 2)


def test_only_the_planting_that_changed_is_brought_again(run: Callable[[str], Any]) -> None:
    again = run(
        """const one = made(trialOf(3));
        await one.bring();
        one.asked.splice(0);
        one.store.receive([record("measurement", "m", 99, { planting_id: "p1", photo_id: "x" })]);
        await one.bring();
        return one.asked;"""
    )
    assert again == ["/api/plantings/p1/curves?width=358", "/api/plantings/p1/summary"]


def test_what_was_thrown_out_or_was_only_kept_is_brought_again(run: Callable[[str], Any]) -> None:
    found = run(
        """const out = made(trialOf(1));
        await out.bring();
        out.asked.splice(0);
        out.cache.delete("/api/plantings/p0/summary");
        await out.bring();
        const old = made(trialOf(1), { headers: { "Kept-Since": "Wed, 01 Jul 2026 08:00:00 GMT" } });
        await old.bring();
        const first = old.asked.splice(0).length;
        await old.bring();
        return { out: out.asked, first, again: old.asked.length };"""
    )
    assert found["out"] == ["/api/plantings/p0/summary"]
    assert found["first"] == found["again"] == 5


def test_it_ends_when_the_signal_goes_and_says_that_it_is_not_done(run: Callable[[str], Any]) -> None:
    found = run(
        """const gone = made(trialOf(50), { lost: (address) => address.includes("p3/") });
        const all = await gone.bring();
        const asked = gone.asked.length;
        const waiting = made(trialOf(5), { may: (asked) => asked.length < 2 });
        const done = await waiting.bring();
        const measuring = made([...trialOf(1), record("photo", "x", 50, { measuring: "waiting", planting_id: "p0" })]);
        return { all, asked, done, waiting: waiting.asked.length, measured: await measuring.bring(),
            none: measuring.asked.length };"""
    )
    assert found["all"] is False
    assert found["asked"] < 16
    assert (found["done"], found["waiting"]) == (False, 2)
    assert (found["measured"], found["none"]) == (False, 0)


def test_no_more_than_so_many_plantings_are_brought(run: Callable[[str], Any]) -> None:
    assert run("const one = made(trialOf(340)); await one.bring(); return one.asked.length;") == 603
