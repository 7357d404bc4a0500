"""The season on a phone without a signal: after one visit with the server, the latest trial is still all there."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from browser.phone import Phone
from browser.records import photo_named, records
from browser.serving import Served
from browser.test_sync import MADE
from playwright.sync_api import Page, expect

AS_OF = re.compile(r"^As of \d+\s[A-Z][a-z]+\s\d{4}, \d\d:\d\d: kept on this device")

KEPT = """async ([address, cache]) => {
    const keys = await (await caches.open(cache)).keys();
    return keys.filter(({ url }) => url.includes(address)).length;
}"""


def wait_until_kept(page: Page, address: str, count: int, cache: str = "figures and numbers") -> None:
    until = time.monotonic() + 120
    while page.evaluate(KEPT, [address, cache]) < count:
        assert time.monotonic() < until, f"{address} was not brought ahead"
        page.wait_for_timeout(200)


def test_season_and_every_planting_are_there_after_one_visit(untouched_season: Served, phone: Phone) -> None:
    leaves = {one.id for one in records(untouched_season.journal, "cultivar") if one.fields["foliage_only"]}
    of_all = records(untouched_season.journal, "planting")
    plantings = {one.id: 2 if one.fields["cultivar_id"] in leaves else 6 for one in of_all}
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
        for planting_id, curves in plantings.items():
            page.goto(f"{untouched_season.address}/#/plantings/{planting_id}")
            expect(page.locator(".figure svg")).to_have_count(curves)
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
        const values = new Map(), cache = new Set(), asked = [], dropped = [];
        let flying = 0, most = 0;
        const device = { get: async (name) => values.get(name), set: async (name, value) => values.set(name, value) };
        const fetch = async (address) => {
            asked.push(address);
            most = Math.max(most, ++flying);
            await later();
            flying -= 1;
            if (more.lost?.(address)) throw new TypeError("network");
            cache.add(address);
            const isChoices = address === "/api/compare/choices";
            return new Response(JSON.stringify(isChoices ? more.choices ?? {} : {}), { headers: more.headers ?? {} });
        };
        const bring = seasonAhead({ store, device, fetch, kept: async () => new Set(cache), width: () => 358,
            drop: async (gone) => gone.forEach((address) => { dropped.push(address); cache.delete(address); }),
            mayFetch: () => more.may?.(asked) ?? true, origin: "", idle: async () => {} });
        return { store, bring, asked, cache, dropped, most: () => most };
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
    assert found["first"][:2] == ["/api/compare/choices", "/api/timeline.svg?trial=t&width=358"]
    assert set(found["first"]) == {
        "/api/timeline.svg?trial=t&width=358", "/api/timeline?trial=t", "/api/look-at?trial=t&", "/api/weather?trial=t",
        "/api/compare/choices",
        *(f"/api/plantings/p{n}/{one}" for n in range(3) for one in ("curves?width=358", "summary", "quotes")),
    }  # fmt: skip
    assert len(found["first"]) == 14
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
    of_planting = [f"/api/plantings/p1/{one}" for one in ("curves?width=358", "summary", "quotes")]
    assert again == ["/api/compare/choices", *of_planting]


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
    # What can be compared is asked for once: it is told by the records, not by its age.
    assert (found["first"], found["again"]) == (8, 7)


def test_it_ends_when_the_signal_goes_and_says_that_it_is_not_done(run: Callable[[str], Any]) -> None:
    found = run(
        """const gone = made(trialOf(50), { lost: (address) => address.includes("p3/") });
        const all = await gone.bring();
        const asked = gone.asked.length;
        const waiting = made(trialOf(5), { may: (asked) => asked.length < 3 });
        const done = await waiting.bring();
        const measuring = made([...trialOf(1), record("photo", "x", 50, { measuring: "waiting", planting_id: "p0" })]);
        return { all, asked, done, waiting: waiting.asked.length, measured: await measuring.bring(),
            none: measuring.asked.length };"""
    )
    assert found["all"] is False
    assert found["asked"] < 16
    assert (found["done"], found["waiting"]) == (False, 3)
    assert (found["measured"], found["none"]) == (False, 0)


def test_no_more_than_so_many_plantings_are_brought(run: Callable[[str], Any]) -> None:
    assert run("const one = made(trialOf(340)); await one.bring(); return one.asked.length;") == 905


CHOICES = """
    const choices = { ways: { ground: [{ id: "c1" }, { id: "of another trial" }], light: [], year: [], try: [] },
        numbers: [["bloom_cover", true], ["canopy_fill", true], ["peak", false]].map(
            ([name, then]) => ({ name, then })) };
    const photo = (id, seq, planting_id, day) =>
        record("photo", id, seq, { planting_id, taken_at: `${day}T10:00:00+02:00` });
    const compared = (address) => address.startsWith("/api/compare/");
    const two = () => [record("trial", "t", 1, { title: "T", year: 2026 }), record("planter", "r", 2),
        ...[0, 1].flatMap((n) => [record("cultivar", `c${n}`, 3 + n), record("planting", `p${n}`, 10 + n,
            { trial_id: "t", cultivar_id: `c${n}`, planter_id: "r", planted_on: "2026-05-16" })])];
"""


def test_comparisons_are_brought_as_their_screens_open_and_of_the_latest_days(run: Callable[[str], Any]) -> None:
    asked = run(
        CHOICES
        + """const one = made([...two(), photo("a", 20, "p0", "2026-06-01"), photo("b", 21, "p0", "2026-06-08"),
            photo("c", 22, "p0", "2026-06-15"), photo("d", 23, "p0", "2026-06-30")], { choices });
        await one.bring();
        return one.asked.filter(compared);"""
    )
    trial = "/api/compare/side-by-side?by=cultivar&of={}&trial=t&{}&width=358"
    moments = ["week=6", "on=2026-06-30", "on=2026-06-15"]
    assert asked[:2] == ["/api/compare/choices", trial.format("bloom_cover", "week=6")]
    assert set(asked) == {
        "/api/compare/choices",
        *(trial.format(of, moment) for of in ("bloom_cover", "canopy_fill") for moment in moments),
        "/api/compare/side-by-side?by=cultivar&of=peak&trial=t&width=358",
        "/api/compare/side-by-side?by=ground&of=bloom_cover&cultivar=c1&week=6&width=358",
        "/api/compare/side-by-side?by=ground&of=peak&cultivar=c1&width=358",
        *(
            f"/api/compare/{one}?first={first}&second=d"
            for one in ("dates", "registration", "registered")
            for first in ("c", "a")
        ),
    }, "the week of the last photo is the sixth"
    assert len(asked) == len(set(asked))


def test_a_pair_of_photos_gives_way_to_the_next_one(run: Callable[[str], Any]) -> None:
    found = run(
        CHOICES
        + """const photos = [photo("a", 20, "p0", "2026-06-01"), photo("b", 21, "p0", "2026-06-15")];
        const one = made([...two(), ...photos], { choices });
        await one.bring();
        one.asked.splice(0);
        one.store.receive([photo("c", 30, "p0", "2026-06-29")]);
        await one.bring();
        return { asked: one.asked.filter((address) => address.includes("first=")), dropped: one.dropped };"""
    )
    assert set(found["dropped"]) == {
        f"/api/compare/{one}?first=a&second=b" for one in ("dates", "registration", "registered")
    }
    assert {address.partition("?")[2] for address in found["asked"]} == {"first=b&second=c", "first=a&second=c"}


def test_laid_over_photos_are_brought_of_so_many_plantings_only(run: Callable[[str], Any]) -> None:
    found = run(
        CHOICES
        + """const photos = Array.from({ length: 200 }, (_, n) => [1, 15, 29].map((day) =>
            photo(`${n} ${day}`, 1000 + n, `p${n}`, `2026-06-${String(day).padStart(2, "0")}`))).flat();
        const one = made([...trialOf(200), ...photos], { choices });
        await one.bring();
        const count = (words) => one.asked.filter((address) => address.startsWith(`/api/compare/${words}?`)).length;
        const laid = [count("registered"), count("registration")];
        return { all: one.asked.length, dates: count("dates"), laid };"""
    )
    assert (found["dates"], found["laid"]) == (400, [60, 60])
    assert found["all"] < 1200


def test_comparisons_are_there_without_the_server(untouched_season: Served, phone: Phone) -> None:
    """Those brought ahead as the server made them; of other pairs of photos what the phone holds, and that it is so."""
    at, journal = untouched_season.address, untouched_season.journal
    trial = records(journal, "trial")[0].id
    first, other, fortnight, last = (
        photo_named(journal, f"p3_2026-{day}.jpg") for day in ("05-22", "06-17", "08-09", "08-22")
    )
    planting_id = last.fields["planting_id"]
    page = phone.ready_for_the_walk(at)
    wait_until_kept(page, f"second={last.id}", 6)
    wait_until_kept(page, "/api/compare/side-by-side", 16)
    wait_until_kept(page, "/api/weather", 1)
    wait_until_kept(page, f"{first.id}/picture?size=screen", 1, cache="pictures")
    untouched_season.stop()
    try:
        page.goto(f"{at}/#/compare/cultivar/{trial}")
        page.reload()
        expect(page.locator(".as-of")).to_have_text(AS_OF)
        expect(page.locator("main svg .fig-rank").first).to_be_visible()
        expect(page.locator("main svg .fig-line").first).to_be_visible()
        page.get_by_text("The numbers as a table").first.click()
        expect(page.locator(".behind table tbody tr").first).to_be_visible()
        page.get_by_label("Number").select_option("peak")
        expect(page.locator("figcaption").first).to_contain_text("Peak bloom over the season")
        page.get_by_label("Number").select_option("canopy_fill")
        expect(page.locator("figcaption").first).to_contain_text("Canopy fill 6 weeks after planting")
        page.get_by_label("When").select_option("week 9")
        expect(page.locator(".problem")).to_contain_text("The journal cannot be reached.")
        page.get_by_role("link", name="Canopy fill, week 6").click()
        expect(page.locator("figcaption").first).to_contain_text("Canopy fill 6 weeks after planting")

        for earlier in (fortnight, first):
            page.goto(f"{at}/#/compare/dates/{planting_id}?first={earlier.id}&second={last.id}")
            expect(page.locator(".says")).to_contain_text("Laid over each other")
            for image in page.locator(".sliding img").all():
                image.evaluate("image => image.decode()")
            expect(page.locator(".differences tbody tr")).to_have_count(7)
            expect(page.locator(".as-of")).to_have_text(AS_OF)
        page.goto(f"{at}/#/compare/dates/{planting_id}?first={other.id}&second={last.id}")
        expect(page.locator(".says")).to_contain_text("these two are shown side by side")
        expect(page.get_by_text("is worked out by the journal, which cannot be reached now")).to_be_visible()
        own = page.locator(".differences.own tbody tr", has_text="Canopy fill")
        expect(own.locator(".interval")).to_have_count(2)
        expect(own).to_contain_text(re.compile(r"\d+\s%\d+–\d+\s%"))
        for image in page.locator(".beside img").all():
            image.evaluate("image => image.decode()")
        expect(page.locator(".problem:visible")).to_have_count(0)

        page.goto(f"{at}/#/set-up/trials/{trial}/weather")
        expect(page.get_by_role("row", name=re.compile("^Rain "))).to_contain_text("mm")
        expect(page.locator(".as-of")).to_have_text(AS_OF)
        page.goto(f"{at}/#/plantings/{planting_id}")
        expect(page.get_by_role("heading", name="Beside others of its genus")).to_be_visible()
    finally:
        untouched_season.start()
    page.goto(f"{at}/#/compare/dates/{planting_id}?first={other.id}&second={last.id}")
    expect(page.locator(".differences tbody tr")).to_have_count(7)
