"""The rules of verdicts as phones have them, by the server's tables of cases."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser.serving import Served
from playwright.sync_api import Page

from journal_server.domain.derived_ids import derived_id
from journal_server.domain.records import KINDS
from journal_server.domain.verdict_fields import GOOD_FOR, GROW_AGAIN, NEEDS, NEXT_YEAR, PICTURES, place_of
from journal_server.domain.verdict_state import TEXTS

HERE = Path(__file__).parent
SHARED = HERE.parent / "domain"
"""Tables of cases that the server is held to as well."""


@pytest.fixture
def run(empty: Served, open_page: Callable[..., Page]) -> Callable[..., Any]:
    page = open_page(empty.address)
    made = """
        const verdicts = await import("/store/verdicts.js");
        const { quotedParts, stillQuoted } = await import("/store/quoted_text.js");
    """
    return lambda script, given=None: page.evaluate(f"async (given) => {{ {made} {script} }}", given)


def cases(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def test_numbers_are_found_in_a_text(run: Callable[..., Any]) -> None:
    table = cases(HERE / "quoted_text_cases.json")
    found = run(
        """return given.map(({ texts, quoted }) =>
            quotedParts(texts, quoted).map((parts) => parts.map((part) => [part.text, part.quoted])));""",
        table,
    )
    assert found == [case["parts"] for case in table]


def test_states_and_changes_are_told_as_on_the_server(run: Callable[..., Any]) -> None:
    table = cases(SHARED / "verdict_state_cases.json")
    found = run(
        """return {
            states: given.states.map(({ fields }) =>
                ({ fields, state: verdicts.stateOf(fields), missing: verdicts.missing(fields ?? {}) })),
            changes: given.changes.map((one) => verdicts.changedNumbers([one.quoted], one.now)),
        };""",
        table,
    )
    assert found["states"] == table["states"]
    assert found["changes"] == [case["changed"] for case in table["changes"]]


def test_ids_places_and_choices_are_the_servers(run: Callable[..., Any]) -> None:
    trial, cultivar = str(uuid.UUID(int=1)), str(uuid.UUID(int=2))
    kinds = ["trough", "wall rack", "pot", "hanging basket", "bed"]
    found = run(
        """const { trial, cultivar, kinds } = given;
        return { id: verdicts.verdictId(trial, cultivar, "ground"), places: kinds.map(verdicts.placeOf),
            choices: [verdicts.GROW_AGAIN, verdicts.GOOD_FOR, verdicts.NEEDS, verdicts.NEXT_YEAR, verdicts.PICTURES],
            texts: verdicts.TEXTS };""",
        {"trial": trial, "cultivar": cultivar, "kinds": kinds},
    )
    assert found["id"] == derived_id("verdict", trial, cultivar, "ground")
    assert found["places"] == [place_of(kind) for kind in kinds]
    assert found["choices"] == [list(one) for one in (GROW_AGAIN, GOOD_FOR, NEEDS, NEXT_YEAR, PICTURES)]
    assert tuple(found["texts"]) == TEXTS
    assert set(TEXTS) <= set(KINDS["verdict"])


def test_a_new_number_takes_the_place_of_the_old_one_only(run: Callable[..., Any]) -> None:
    found = run(
        """const quoted = [
            { key: "spent", planting_id: "p", shown: "5 %", interval: "3–7", before: "came to " },
            { key: "peak", planting_id: "p", shown: "5 %", interval: null, before: "peaked at " },
        ];
        const texts = { text: "Spent came to 5 % (3–7). It peaked at 5 %.", strengths: "None." };
        const number = { key: "peak", planting_id: "p", shown: "8 %", interval: "6–9", on: null, photo_ids: ["f"],
            estimate: { value: 0.08, low: 0.06, high: 0.09 } };
        return verdicts.withNewNumber(texts, quoted, 1, number);"""
    )
    assert found["texts"] == {"text": "Spent came to 5 % (3–7). It peaked at 8 %."}
    assert found["quoted"][0]["shown"] == "5 %"
    new = found["quoted"][1]
    assert (new["shown"], new["interval"], new["value"], new["before"]) == ("8 %", "6–9", 0.08, "peaked at ")


def test_what_a_sentence_quotes_is_kept_with_the_words_before_it(run: Callable[..., Any]) -> None:
    found = run(
        """const number = (key) => ({ key, planting_id: "p", shown: key, interval: null, on: null, photo_ids: [],
            estimate: { value: 1, low: 1, high: 1 } });
        const parts = [{ text: "4", number: number("4") }, { text: " of " }, { text: "5", number: number("5") }];
        return verdicts.quotedOfSentence({ parts });"""
    )
    assert [(one["shown"], one["before"]) for one in found] == [("4", None), ("5", "4 of")]


AHEAD = """
    const { verdictsAhead } = await import("/sync/verdicts_ahead.js");
    const { RecordStore } = await import("/store/record_store.js");
    let seq = 0;
    const record = (kind, id, fields = {}) => ({ kind, id, seq: ++seq, version: 1, deleted: false, fields });
    const store = new RecordStore();
    const planting = (id, cultivar) => record("planting", id,
        { trial_id: "t", cultivar_id: cultivar, planter_id: "r", planted_on: "2026-05-16" });
    store.receive([record("trial", "t", { title: "T", year: 2026 }), record("planter", "r", { planter_kind: "bed" }),
        record("cultivar", "a"), record("cultivar", "b"), planting("p", "a"), planting("q", "b")]);
    const values = new Map(), cache = new Set(), asked = [];
    const device = { get: async (name) => values.get(name), set: async (name, value) => values.set(name, value) };
    const fetch = async (address) => { asked.push(address); cache.add(address); return new Response("{}"); };
    let may = true;
    const bring = verdictsAhead({ store, device, fetch, kept: async () => cache, width: () => 358,
        mayFetch: () => may, origin: "",
        idle: async () => {} });
    const draftsOf = (cultivar) => `/api/verdict-drafts?trial=t&cultivar=${cultivar}&place=ground`;
"""


def test_drafts_are_brought_ahead_once_and_again_when_their_records_change(run: Callable[..., Any]) -> None:
    found = run(
        f"""{AHEAD}
        const all = await bring();
        const first = asked.splice(0);
        await bring();
        const again = asked.splice(0);
        store.receive([record("care", "c", {{ planting_id: "q", action: "fed" }})]);
        await bring();
        return {{ all, first, again, changed: asked, of: ["a", "b"].map(draftsOf) }};"""
    )
    assert found["first"] == ["/api/verdicts?trial=t", *found["of"], "/api/review/how-sure?trial=t"]
    assert (found["all"], found["again"], found["changed"]) == (True, [], [found["of"][1]])


def test_nothing_is_brought_while_something_waits_or_is_measured(run: Callable[..., Any]) -> None:
    found = run(
        f"""{AHEAD}
        may = false;
        const waits = await bring();
        may = true;
        store.receive([record("photo", "f", {{ planting_id: "p", measuring: "waiting" }})]);
        return {{ waits, measuring: await bring(), asked }};"""
    )
    assert found == {"waits": False, "measuring": False, "asked": []}
