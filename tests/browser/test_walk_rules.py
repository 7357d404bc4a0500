"""The rules of the walk, each alone: what is on it, what is left, what is due. They run in the browser as they are."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser.serving import Served
from playwright.sync_api import Page

from journal_server.analysis.comparison import QUANTITIES
from journal_server.analysis.look_at.rule_settings import RULE_SETTINGS
from journal_server.domain.records import CARE_ACTIONS, COUNT_REASONS, FINDINGS, RATINGS
from journal_server.services.comparison_groups import WAYS
from journal_server.services.timeline import GROUPS, SORTS

HERE = Path(__file__).parent
SHARED = HERE.parent / "domain"
"""Tables of cases that the server is held to as well."""

MADE = """
    const walk = await import("/store/walk.js");
    const { careDue } = await import("/store/care_due.js");
    const words = await import("/screens/walk/words.js");
    const { RecordStore } = await import("/store/record_store.js");
    let seq = 0;
    const record = (kind, id, fields) => ({ kind, id, seq: ++seq, version: 1, deleted: false, fields });
    const store = new RecordStore();
    const have = (kind, id, fields) => store.receive([record(kind, id, fields)]);
    const trough = (number, more = {}) => {
        have("planter", `trough ${number}`, { trial_id: "t", name: `Trough ${number}`, walk_order: number });
        const stands = { trial_id: "t", planter_id: `trough ${number}`, planted_on: "2026-05-16" };
        have("planting", `p${number}`, { ...stands, ...more });
    };
    const day = "2026-06-12";
    const overview = (skipped = []) => walk.overviewOfWalk(store, { trialId: "t", day, skipped });
    const visit = (planting, on, more = {}) => {
        const walkOf = walk.walkId("t", on);
        const id = walk.visitId(walkOf, planting);
        have("visit", id, { trial_id: "t", walk_id: walkOf, planting_id: planting, visited_on: on, ...more });
        return id;
    };
"""


@pytest.fixture
def run(empty: Served, open_page: Callable[..., Page]) -> Callable[..., Any]:
    page = open_page(empty.address)
    return lambda script, given=None: page.evaluate(f"async (given) => {{ {MADE} {script} }}", given)


def cases(path: Path) -> list[dict[str, Any]]:
    loaded: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
    return loaded


def test_lists_that_phones_know_without_the_server_are_the_server_s(run: Callable[..., Any]) -> None:
    phone = run(
        """const plants = await import("/store/plants.js");
        const care = await import("/screens/care/words.js");
        const { RULE_WORDS } = await import("/screens/look_at_list.js");
        const { WAYS } = await import("/screens/compare/overview.js");
        const { FIRST_NUMBER } = await import("/store/comparison_addresses.js");
        const season = await import("/screens/season.js");
        return { findings: walk.FINDINGS, ofOnePlant: walk.FINDINGS_OF_ONE_PLANT, rated: walk.RATED,
            care: walk.CARE_ON_THE_WALK, planned: care.PLANNED, counts: plants.COUNT_REASONS,
            rules: Object.keys(RULE_WORDS), ways: Object.keys(WAYS), first: FIRST_NUMBER,
            sorts: season.SORTS.map(([name]) => name), groups: season.GROUPS.map(([name]) => name) };"""
    )
    assert phone["findings"] == list(FINDINGS)
    assert set(phone["ofOnePlant"]) < set(FINDINGS)
    assert phone["rated"] == list(RATINGS)
    assert set(phone["care"]) == set(phone["planned"]) == set(CARE_ACTIONS) - {"planted", "noted"}
    assert phone["counts"] == list(COUNT_REASONS)
    assert set(phone["rules"]) == set(RULE_SETTINGS)
    assert set(phone["ways"]) == set(WAYS) - {"cultivar"}
    assert phone["first"] in QUANTITIES
    assert set(phone["sorts"]) == set(SORTS)
    assert set(phone["groups"]) == set(GROUPS)


def test_photos_taken_in_later_stand_with_the_visit_of_their_day(run: Callable[..., Any]) -> None:
    found = run(
        """trough(1);
        const first = visit("p1", "2026-06-01"), second = visit("p1", "2026-06-12");
        const photo = (id, on, more = {}) =>
            have("photo", id, { planting_id: "p1", taken_at: `${on}T10:00:00+02:00`, ...more });
        photo("on the walk", "2026-06-12", { visit_id: second });
        photo("from the card", "2026-06-01");
        photo("between", "2026-06-05");
        photo("set aside", "2026-06-01", { set_aside: true });
        return walk.visitsOfPlanting(store, "p1").map(({ photos }) => photos.map(({ id }) => id));"""
    )
    assert found == [["on the walk"], ["from the card"]]


def test_care_is_due_as_on_the_server(run: Callable[..., Any]) -> None:
    table = cases(SHARED / "care_due_cases.json")
    found = run(
        """const made = (fields) => ({ id: fields.id, fields });
        const order = (a, b) => (a < b ? -1 : Number(a > b));
        return given.map(({ day, plantings, plans, care }) =>
            plantings.flatMap((planting) =>
                careDue({ plans: plans.map(made), care: care.map(made) }, made(planting), day).map((due) => ({
                    planting_id: planting.id, action: due.action, plan_id: due.planId, due_on: due.dueOn,
                    overdue_days: due.overdueDays, last_done_on: due.lastDoneOn })))
            .sort((a, b) => order(a.due_on, b.due_on) || order(a.planting_id, b.planting_id)));""",
        table,
    )
    for case, due in zip(table, found, strict=True):
        assert due == case["due"], case["name"]


def test_living_plants_are_those_counted_last(run: Callable[..., Any]) -> None:
    table = cases(HERE / "living_plants_cases.json")
    assert len(table) > 3
    found = run(
        """return given.map(({ set_out, counts }, at) => {
            counts.forEach(({ counted_on, plants, seq }, index) => store.receive([{
                ...record("plant_count", `${at}/${index}`, { planting_id: `p${at}`, counted_on, plants }), seq }]));
            return walk.livingPlants(store, { id: `p${at}`, fields: { plants: set_out } });
        });""",
        table,
    )
    assert found == [case["plants"] for case in table]


def test_the_walk_goes_by_walking_order_past_what_stands_that_day(run: Callable[..., Any]) -> None:
    on_it = run(
        """trough(3); trough(1); trough(2, { removed_on: "2026-06-11" });
        trough(4, { removed_on: "2026-06-12" }); trough(5, { planted_on: "2026-06-13" });
        trough(6, { trial_id: "other" });
        return overview().entries.map(({ planting }) => planting.id);"""
    )
    assert on_it == ["p1", "p3", "p4"]


def test_done_skipped_and_left_are_counted_and_the_next_one_named(run: Callable[..., Any]) -> None:
    seen = run(
        """[1, 2, 3, 4].forEach((number) => trough(number));
        visit("p1", day, { done: true });
        visit("p2", day, { done: false });
        visit("p4", "2026-06-05", { done: true });
        const now = overview(["p3"]);
        const next = (after, skipped) => walk.nextOnWalk(overview(skipped).entries, after)?.planting.id ?? null;
        return { states: now.entries.map(({ state }) => state), counts: [now.done, now.skipped, now.left],
            nexts: [next(null, ["p3"]), next("p2", ["p3"]), next("p4", ["p3"]), next("p4", ["p2", "p3"])] };"""
    )
    assert seen["states"] == ["done", "to do", "skipped", "to do"]
    assert seen["counts"] == [1, 1, 2]
    assert seen["nexts"] == ["p2", "p4", "p2", "p2"]


def test_when_all_is_done_there_is_no_next_one(run: Callable[..., Any]) -> None:
    assert run("trough(1); visit('p1', day, { done: true }); return walk.nextOnWalk(overview().entries, 'p1');") is None


def test_last_time_is_the_visit_before_today_not_today(run: Callable[..., Any]) -> None:
    found = run(
        """trough(1);
        const note = (id, on, what) => have("finding", what, { visit_id: id, planting_id: "p1", found_on: on, what });
        note(visit("p1", "2026-05-29"), "2026-05-29", "soggy");
        note(visit("p1", "2026-06-05"), "2026-06-05", "dry");
        note(visit("p1", day), day, "leggy");
        const [entry] = overview().entries;
        return [entry.foundBefore, entry.foundNow].map((list) => list.map(({ fields }) => fields.what));"""
    )
    assert found == [["dry"], ["leggy"]]


def test_what_two_phones_brought_to_one_visit_is_counted_whole_and_said_once(run: Callable[..., Any]) -> None:
    seen = run(
        """trough(1);
        const at = { visit_id: visit("p1", day), planting_id: "p1" };
        have("photo", "sure", { ...at, taken_at: day });
        have("photo", "asked about", { ...at, planting_id: null, taken_at: day });
        have("photo", "deleted", { ...at, set_aside: true, taken_at: day });
        for (const phone of ["a", "b"]) have("finding", `dry ${phone}`, { ...at, found_on: day, what: "dry" });
        have("finding", "leggy", { ...at, found_on: day, what: "leggy" });
        const [entry] = overview().entries;
        return [entry.photos.map(({ id }) => id).sort(), words.findingsInWords(entry.foundNow)];"""
    )
    assert seen == [["asked about", "sure"], "dry, leggy"]


def test_a_card_used_again_names_the_planting_of_that_season(run: Callable[..., Any]) -> None:
    named = run(
        """trough(1, { card_code: "TAG-7K3Q9M", planted_on: "2025-05-10", removed_on: "2025-10-01" });
        trough(2, { card_code: "TAG-7K3Q9M" });
        const days = ["2025-07-01", "2026-07-01", "2025-12-01"];
        return days.map((on) => walk.plantingOfCard(store, "TAG-7K3Q9M", on).id);"""
    )
    assert named == ["p1", "p2", "p2"]


def test_moving_a_planter_sends_only_the_numbers_that_change(run: Callable[..., Any]) -> None:
    changes = run(
        """[1, 2, 3].forEach((number) => trough(number));
        const planters = store.all("planter");
        return walk.reordered(planters, 2, 1).map(({ id, fields }) => [id, fields.walk_order]);"""
    )
    assert changes == [["trough 3", 2], ["trough 2", 3]]


def test_last_ratings_are_the_raters_own_where_there_are_any(run: Callable[..., Any]) -> None:
    said = run(
        """const rate = (on, rater, overall) =>
            have("rating", `${on}${rater}`, { planting_id: "p1", rated_on: on, rater, overall });
        rate("2026-05-29", "Ada", 3); rate("2026-06-05", "Ben", 5); rate(day, "Ada", 1);
        const last = (rater) => walk.lastRatings(store, "p1", rater, day)?.fields.overall ?? null;
        return [last("Ada"), last("Ben"), last("Cleo"), walk.lastRatings(store, "p2", "Ada", day)];"""
    )
    assert said == [3, 5, 5, None]


@pytest.mark.parametrize(
    ("off_seconds", "said"),
    [(30, ""), (None, ""), (-86400, "1 day behind"), (7200, "2 hours ahead of"), (900, "15 minutes ahead of")],
)
def test_a_wrong_clock_is_said_once_it_matters(run: Callable[..., Any], off_seconds: int | None, said: str) -> None:
    words = run("return words.clockInWords(given);", off_seconds)
    assert (said in words) if said else words == ""


def test_the_day_and_the_moment_are_the_phones_own(empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(empty.address, timezone_id="America/St_Johns")
    said = page.evaluate(
        """async () => {
            const { localDay, localMoment } = await import("/store/walk.js");
            const late = new Date("2026-06-12T01:10:03Z");
            return [localDay(late), localMoment(late)];
        }"""
    )
    # St John's keeps two and a half hours behind UTC in summer (IANA time zone database).
    assert said == ["2026-06-11", "2026-06-11T22:40:03-02:30"]
