"""The parts under the screens, each alone: what they keep, send and put back. They run in the browser as they are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from browser.serving import Served
from playwright.sync_api import Page

MADE = """
    const { RecordStore } = await import("/store/record_store.js");
    const { MemoryDatabase } = await import("/store/memory_database.js");
    const { Server, ServerRefused, ServerUnreachable } = await import("/sync/server.js");
    const { Journal } = await import("/sync/journal.js");
    const { UploadQueue } = await import("/sync/upload_queue.js");
    const words = await import("/words.js");
    const trial = (seq, title, more = {}) =>
        ({ kind: "trial", id: "t", seq, version: seq, deleted: false, fields: { title }, ...more });
    const answering = (...answers) => new Server(async (path, options) => {
        const [status, body] = answers.shift()(path, options);
        return new Response(JSON.stringify(body), { status, headers: { "Content-Type": "application/json" } });
    });
    const later = () => new Promise((done) => setTimeout(done, 5));
    const nothingNew = () => [200, { records: [], cursor: 0, more: false }];
    const lost = () => { throw new TypeError("network"); };
    /** Answers of the feed and of what is sent, each in its own order; the last one of each is given again. */
    const serving = ({ feed = [nothingNew], sent = [] }) => new Server(async (path, options) => {
        const answers = options?.method === "POST" ? sent : feed;
        const [status, body] = (answers.length > 1 ? answers.shift() : answers[0])(path, options);
        return new Response(JSON.stringify(body), { status, headers: { "Content-Type": "application/json" } });
    });
    const journalOf = (server, database = new MemoryDatabase()) => new Journal(new RecordStore(), server, database);
    const result = (more) => ({ id: "t", status: "applied", record: null, errors: [], conflicts: [], ...more });
"""


@pytest.fixture
def run(empty: Served, open_page: Callable[..., Page]) -> Callable[[str], Any]:
    page = open_page(empty.address)
    return lambda script: page.evaluate(f"async () => {{ {MADE} {script} }}")


def test_an_older_record_never_takes_the_place_of_a_newer_one(run: Callable[[str], Any]) -> None:
    assert run(
        """const store = new RecordStore();
        store.receive([trial(5, "new"), trial(3, "old")]);
        return store.get("trial", "t").fields.title;"""
    ) == "new"  # fmt: skip


def test_the_feed_is_read_page_by_page_to_its_end(run: Callable[[str], Any]) -> None:
    asked = run(
        """const asked = [];
        const page = (cursor, more) => (path) => {
            asked.push(path);
            return [200, { records: [trial(cursor, "n" + cursor)], cursor, more }];
        };
        const journal = journalOf(serving({ feed: [page(1, true), page(2, false)] }));
        await Promise.all([journal.pull(), journal.pull()]);
        return { asked, title: journal.store.get("trial", "t").fields.title };"""
    )
    assert asked == {"asked": ["/api/changes?since=0&limit=1000", "/api/changes?since=1&limit=1000"], "title": "n2"}


def test_a_change_is_seen_at_once_and_put_back_when_refused(run: Callable[[str], Any]) -> None:
    seen = run(
        """const refuse = () => [422, { results: [result({ status: "refused",
            errors: [{ field: "title", message: "This needs a few words." }] })] }];
        const journal = journalOf(serving({ sent: [refuse] }));
        journal.store.receive([trial(1, "before")]);
        const sending = journal.applyChanges([{ kind: "trial", id: "t", fields: { title: "" } }]);
        await later();
        const during = journal.store.get("trial", "t").fields.title;
        const refused = await sending;
        return { during, refused, after: journal.store.get("trial", "t").fields.title,
            attention: journal.queue.state.attention };"""
    )
    assert seen["refused"] == [{"id": "t", "field": "title", "message": "This needs a few words."}]
    assert (seen["after"], seen["attention"]) == ("before", [])


def test_quick_edits_of_one_record_each_rest_on_what_became_of_the_one_before(run: Callable[[str], Any]) -> None:
    bases = run(
        """const bases = [];
        const take = (version) => (path, { body }) => {
            const { changes } = JSON.parse(body);
            bases.push(changes.map((change) => change.base.title));
            const record = trial(version, changes[0].fields.title);
            return [200, { results: [result({ record })] }];
        };
        const journal = journalOf(serving({ sent: [take(7), take(9)] }));
        journal.store.receive([trial(4, "first")]);
        const edit = (title) => journal.applyChanges([{ kind: "trial", id: "t", fields: { title } }]);
        await Promise.all([edit("second"), edit("third")]);
        return [...bases, journal.store.get("trial", "t").fields.title];"""
    )
    assert bases == [[4], [7], "third"]


@pytest.mark.parametrize("database", ["new MemoryDatabase()", "await openDatabase({ name: 'taps' })"])
def test_quick_taps_on_one_field_never_clash_with_each_other(run: Callable[[str], Any], database: str) -> None:
    """A small server keeps one record by the rules of versions; taps fall at every moment after each request."""
    outcome = run(
        f"""const {{ openDatabase }} = await import("/store/database.js");
        let held = null;
        const versions = {{}};
        const take = async (path, {{ body }}) => {{
            const {{ changes: [change, ...more] }} = JSON.parse(body);
            if (more.length) throw new Error("one record, one change");
            const [[field, value]] = Object.entries(change.fields);
            const clash = (versions[field] ?? 0) > (change.base[field] ?? 0) && held.fields[field] !== value
                && held.fields[field] !== null;
            if (!clash) {{
                const version = (held?.version ?? 0) + 1;
                versions[field] = version;
                held = {{ ...trial(version, ""), fields: {{ ...held?.fields, [field]: value }},
                    field_versions: {{ ...versions }} }};
            }}
            const conflicts = clash ? [{{ field, yours: value, theirs: held.fields[field] }}] : [];
            const status = clash ? "conflict" : "applied";
            return [200, {{ results: [result({{ status, record: held, conflicts }})] }}];
        }};
        const server = new Server(async (path, options) => {{
            const [status, body] = options?.method === "POST" ? await take(path, options) : nothingNew();
            posts += options?.method === "POST";
            return new Response(JSON.stringify(body), {{ status }});
        }});
        let posts = 0;
        const turn = () => new Promise((done) => {{
            const {{ port1, port2 }} = new MessageChannel();
            port1.onmessage = done;
            port2.postMessage(0);
        }});
        const journal = journalOf(server, {database});
        for (let tap = 1; tap <= 60; tap++) {{
            const before = posts;
            journal.note([{{ kind: "trial", id: "t", fields: {{ title: tap }} }}]);
            const until = performance.now() + 5000;
            while (posts === before) {{
                if (performance.now() > until) return `tap ${{tap}} was not sent at once`;
                await turn();
            }}
            for (let turns = 0; turns < tap % 20; turns++) await (tap % 2 ? Promise.resolve() : turn());
        }}
        await later();
        while (journal.queue.entries.length) await later();
        return [journal.queue.state.conflicts, held.fields.title];"""
    )
    assert outcome == [[], 60]


def test_a_change_that_cannot_arrive_now_waits_and_goes_with_the_next(run: Callable[[str], Any]) -> None:
    seen = run(
        """const takeAll = (body) => JSON.parse(body).changes.map(({ id }) => result({ id }));
        const take = (path, { body }) => [200, { results: takeAll(body) }];
        const journal = journalOf(serving({ feed: [lost, nothingNew], sent: [take] }));
        const note = (id) => journal.applyChanges([{ kind: "trial", id, fields: { title: id } }]);
        const refused = await note("t");
        const state = () => [journal.queue.state.waiting, journal.queue.state.reach];
        const between = [journal.store.get("trial", "t").fields.title, ...state()];
        await note("u");
        return [refused, between, ...state()];"""
    )
    assert seen == [[], ["t", 1, "no"], 0, "yes"]


def test_both_values_are_shown_when_two_people_edit_one_field(run: Callable[[str], Any]) -> None:
    problems, conflicts, waiting = run(
        """const clash = () => [409, { results: [result({ status: "conflict", record: trial(2, "theirs"),
            conflicts: [{ field: "title", yours: "mine", theirs: "theirs" }] })] }];
        const journal = journalOf(serving({ sent: [clash] }));
        journal.store.receive([trial(1, "before")]);
        const problems = await journal.applyChanges([{ kind: "trial", id: "t", fields: { title: "mine" } }]);
        return [problems, journal.queue.state.conflicts, journal.queue.state.waiting];"""
    )
    assert problems[0]["field"] == "title"
    assert "“theirs”" in problems[0]["message"]
    assert (conflicts, waiting) == ([], 0)


def test_uploads_go_two_at_a_time_and_each_ends_in_its_own_state(run: Callable[[str], Any]) -> None:
    outcome = run(
        """let now = 0, most = 0;
        const ends = {
            "a.jpg": () => ({ outcome: "taken in", says: "" }),
            "b.jpg": () => ({ outcome: "already here", says: "" }),
            "c.jpg": () => { throw new ServerRefused({ message: "No photo." }, 422, null); },
            "d.jpg": () => { throw new ServerUnreachable(); },
            "e.jpg": () => { throw new ServerRefused({ message: "Busy." }, 503, null); },
        };
        const queue = new UploadQueue(async (file) => {
            most = Math.max(most, ++now);
            await later();
            now--;
            return ends[file.name]();
        });
        const film = new File(["x"], "f.mp4", { type: "video/mp4" });
        queue.add([...Object.keys(ends).map((name) => new File(["x"], name)), film]);
        while (queue.busy) await later();
        return [most, queue.share, Object.fromEntries(queue.entries.map((entry) => [entry.file.name, entry.state]))];"""
    )
    assert outcome == [
        2,
        1,
        {
            "a.jpg": "taken in", "b.jpg": "already here", "c.jpg": "refused", "d.jpg": "failed", "e.jpg": "failed",
            "f.mp4": "refused",
        },
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("words.shareInWords({ value: 0.614, low: 0.57, high: 0.65 })", {"value": "61 %", "interval": "57–65 %"}),
        ("words.shareInWords({ value: 0.004, low: 0.001, high: 0.008 })", {"value": "0.4 %", "interval": "0.1–0.8 %"}),
        ("words.shareInWords(null)", None),
        ("words.amountInWords({ value: 14.26, low: 8, high: 21 }, 'cm')", {"value": "14 cm", "interval": "8–21 cm"}),
        ("words.weekInWords('2026-05-16', '2026-06-27T10:00:00+02:00')", "week 6"),
        ("words.weekInWords('2026-05-16', '2026-05-01')", "before planting"),
        ("words.daysBetween('2026-03-28', '2026-03-30')", 2),
    ],
)
def test_numbers_are_said_with_no_more_digits_than_their_interval_supports(
    run: Callable[[str], Any], asked: str, said: Any
) -> None:
    answer = run(f"return {asked};")
    spaced = {k: v.replace("\u00a0", " ") for k, v in answer.items()} if isinstance(answer, dict) else answer
    assert (spaced.replace("\u00a0", " ") if isinstance(spaced, str) else spaced) == said
