"""The rules of the queue as tables of cases: what may go together, what an answer means, how long to wait."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Any

import pytest
from browser.serving import serve
from playwright.sync_api import Page

from journal_server.services.journal import open_journal

PARTS = """
    const { nextBatch } = await import("/sync/batches.js");
    const { afterChanges, afterFile, afterRefusal } = await import("/sync/outcomes.js");
    const { waitMs } = await import("/sync/backoff.js");
    const { changesEntry, seenChanges } = await import("/sync/entries.js");
    const { RecordStore } = await import("/store/record_store.js");
    const { MemoryDatabase } = await import("/store/memory_database.js");
    const { Outbox } = await import("/store/outbox.js");
    const { Sender } = await import("/sync/sender.js");
    const { Server, ServerRefused, ServerUnreachable } = await import("/sync/server.js");
    const { routeOf } = await import("/service_worker/routes.js");
    const { wantedPictures } = await import("/sync/pictures_ahead.js");
    const entry = (key, ...changes) => ({ kind: "changes", key, attention: null, changes });
    const create = (id, fields = { title: id }) => ({ kind: "trial", id, fields, base: {} });
    const edit = (id, fields, version) => ({ kind: "trial", id, fields,
        base: Object.fromEntries(Object.keys(fields).map((name) => [name, version])) });
    const file = (key, id, more = {}) => ({ kind: "photo", key, id, attention: null, sha256: "h" + id, size: 3,
        mime: "image/jpeg", fileName: "a.jpg", form: {}, ...more });
    const refused = { attention: { message: "no", canRetry: true, problems: [] } };
    const record = (id, fields, versions, version = 9) =>
        ({ kind: "trial", id, seq: 50, version, deleted: false, fields, field_versions: versions });
    const titled = (title, version, id = "a") => edit(id, { title }, version);
    const result = (id, status, more = {}) => ({ id, status, record: null, errors: [], conflicts: [], ...more });
"""


@pytest.fixture(scope="module")
def page(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with closing(open_journal(tmp_path_factory.mktemp("rules") / "journal")) as journal, serve(journal) as served:
        opened = browser.new_page()
        opened.goto(f"{served.address}/manifest.webmanifest")
        yield opened
        opened.close()


@pytest.fixture
def run(page: Page) -> Callable[[str], Any]:
    return lambda script: page.evaluate(f"async () => {{ {PARTS} {script} }}")


@pytest.mark.parametrize(
    ("entries", "sent"),
    [
        ("[entry(1, create('a')), entry(2, create('b'))]", [1, 2]),
        # A second edit of a record rests on what becomes of the first.
        ("[entry(1, create('a')), entry(2, edit('a', { title: 'x' }, 0)), entry(3, create('b'))]", [1, 3]),
        # What rests on a held edit waits with it, to keep the order.
        ("[entry(1, create('a')), entry(2, edit('a', {}, 0), create('c')), entry(3, edit('c', {}, 0))]", [1]),
        # What speaks of a photo that is not there yet waits for the photo; nothing else does.
        ("[file(1, 'p'), entry(2, edit('f', { photo_id: 'p' }, 1)), entry(3, create('b'))]", [3]),
        ("[file(1, 'p'), entry(2, edit('p', { note: 1 }, 0)), entry(3, create('b'))]", [3]),
        ("[file(1, 'p', refused), entry(2, edit('p', { note: 1 }, 0)), entry(3, create('b'))]", [3]),
        # A record that the server would not make cannot be pointed at; a refused edit keeps nothing back.
        ("[{ ...entry(1, create('a')), ...refused }, entry(2, create('b', { of: 'a' })), entry(3, create('c'))]", [3]),
        ("[{ ...entry(1, titled('', 4)), ...refused }, entry(2, edit('a', { site: 'x' }, 4))]", [2]),
        ("[]", []),
    ],
)  # fmt: skip
def test_what_may_go_together(run: Callable[[str], Any], entries: str, sent: list[int]) -> None:
    assert run(f"return nextBatch({entries}).map(({{ key }}) => key);") == sent


def test_an_edit_that_failed_in_company_goes_alone(run: Callable[[str], Any]) -> None:
    batches = run(
        """const all = [1, 2, 3].map((key) => entry(key, create("t" + key)));
        const keys = (how) => nextBatch(all, how).map(({ key }) => key);
        return [keys({ alone: ({ key }) => key === 1 }), keys({ alone: ({ key }) => key === 2 }),
            keys({ mayGo: ({ key }) => key !== 1 })];"""
    )
    assert batches == [[1], [1], [2, 3]]


def test_each_result_of_a_batch_is_judged_for_itself(run: Callable[[str], Any]) -> None:
    outcome = run(
        """const batch = [entry(1, create("a")), entry(2, edit("b", { title: "mine", site: "S" }, 3)),
            entry(3, create("c"), create("d"))];
        return afterChanges(batch, [
            result("a", "applied", { record: record("a", { title: "a" }, { title: 1 }, 1) }),
            result("b", "conflict", { record: record("b", { title: "theirs" }, { title: 7 }),
                conflicts: [{ field: "title", yours: "mine", theirs: "theirs" }] }),
            result("c", "merged"),
            result("d", "refused", { errors: [{ field: "year", message: "Too early." }] }),
        ]);"""
    )
    assert outcome["gone"] == [1]
    rest, attention = outcome["changed"]
    assert (rest["changes"], rest["attention"]) == (
        [{"kind": "trial", "id": "b", "fields": {"site": "S"}, "base": {"site": 3}}],
        None,
    )
    assert [change["id"] for change in attention["changes"]] == ["d"]
    assert attention["attention"]["problems"] == [{"id": "d", "field": "year", "message": "Too early."}]
    (conflict,) = outcome["conflicts"]
    assert (conflict["key"], conflict["yours"], conflict["theirs"], conflict["version"]) == (
        "trial/b/title", "mine", "theirs", 7,
    )  # fmt: skip


@pytest.mark.parametrize(
    "results",
    ["undefined", "[]", "[result('b', 'applied')]", "[result('a', 'applied'), result('b', 'applied')]", "'<html>'"],
)
def test_an_answer_that_does_not_name_what_was_sent_counts_for_nothing(run: Callable[[str], Any], results: str) -> None:
    assert run(f"return afterChanges([entry(1, create('a'))], {results});") is None


@pytest.mark.parametrize(
    ("answer", "gone"),
    [
        ("{ photo: { id: 'p' }, received: { id: 'p', sha256: 'hp' } }", [1]),
        ("{ photo: { id: 'p' }, received: { id: 'p', sha256: 'other' } }", None),
        ("{ photo: { id: 'p' }, received: { id: 'q', sha256: 'hp' } }", None),
        ("{ photo: { id: 'p' } }", None),
        ("{ received: { id: 'p', sha256: 'hp' } }", None),
        ("null", None),
    ],
)
def test_a_photo_goes_only_when_its_id_and_its_hash_come_back(
    run: Callable[[str], Any], answer: str, gone: list[int] | None
) -> None:
    outcome = run(f"return afterFile(file(1, 'p'), {answer});")
    assert (outcome and outcome["gone"]) == gone


def test_what_was_noted_of_a_photo_speaks_of_the_one_that_was_there_already(run: Callable[[str], Any]) -> None:
    after = run(
        """const { later } = afterFile(file(1, "mine"), { photo: { id: "theirs" },
            received: { id: "mine", sha256: "hmine" } });
        return later(entry(2, { kind: "photo", id: "mine", fields: { note: "n" } },
            { kind: "frame", id: "f", fields: { photo_id: "mine" } })).changes;"""
    )
    assert [after[0]["id"], after[1]["fields"]["photo_id"]] == ["theirs", "theirs"]


@pytest.mark.parametrize(
    ("first", "answer", "second", "base"),
    [
        # An own edit was taken: the next of the same field rests on it.
        ("titled('x', 4)", "record('a', { title: 'x' }, { title: 5 })", "titled('y', 4)", 5),
        # Text is trimmed by the server: that is no other person's value.
        ("titled(' x ', 4)", "record('a', { title: 'x' }, { title: 5 })", "titled('y', 4)", 5),
        # Someone was faster between the two: the base stays, so that the clash is shown.
        ("titled('x', 4)", "record('a', { title: 'z' }, { title: 6 })", "titled('y', 4)", 4),
        # Another field was edited first.
        (
            "edit('a', { site: 'x' }, 4)", "record('a', { title: 'z', site: 'x' }, { title: 6, site: 7 })",
            "titled('y', 4)", 4,
        ),
        # The record was made just now, by nobody else: every field of it is one's own.
        (
            "create('a', { site: 'x' })", "record('a', { title: null, site: 'x' }, { title: 1, site: 1 }, 1)",
            "create('a', { title: 'y' })", 1,
        ),
        # Another record.
        ("titled('x', 4)", "record('a', { title: 'x' }, { title: 5 })", "titled('y', 4, 'b')", 4),
    ],
)  # fmt: skip
def test_own_edits_never_clash_and_other_peoples_always_do(
    run: Callable[[str], Any], first: str, answer: str, second: str, base: int
) -> None:
    moved = run(
        f"""const {{ later }} = afterChanges([entry(1, {first})], [result("a", "applied", {{ record: {answer} }})]);
        return later(entry(2, {second})).changes[0].base.title;"""
    )
    assert moved == base


def test_the_order_of_keys_in_an_object_is_no_other_value(run: Callable[[str], Any]) -> None:
    base = run(
        """const quoted = (version, value) => edit("a", { quoted: [value] }, version);
        const answer = record("a", { quoted: [{ a: 2, b: { c: 1, d: 3 } }] }, { quoted: 5 });
        const first = entry(1, quoted(4, { b: { d: 3, c: 1 }, a: 2 }));
        const { later } = afterChanges([first], [result("a", "applied", { record: answer })]);
        return later(entry(2, quoted(4, { a: 7 }))).changes[0].base.quoted;"""
    )
    assert base == 5


def test_waiting_doubles_with_some_chance_and_ends_at_five_minutes(run: Callable[[str], Any]) -> None:
    least, most = run(
        "return [0, 0.999999].map((chance) => [1, 2, 3, 8, 60].map((tries) => waitMs(tries, () => chance)));"
    )
    assert least == [1000, 2000, 4000, 128_000, 150_000]
    assert [round(one) for one in most] == [2000, 4000, 8000, 256_000, 300_000]


def test_a_new_record_carries_an_empty_base_and_an_edit_the_version_seen(run: Callable[[str], Any]) -> None:
    changes = run(
        """const store = new RecordStore();
        store.receive([record("old", { title: "t" }, { title: 3 })]);
        return changesEntry(store, [{ kind: "trial", id: "new", fields: { title: "a" } },
            { kind: "trial", id: "old", fields: { site: "s" } }, { kind: "trial", id: "old", fields: { note: "n" } },
            { kind: "trial", id: "gone", delete: true }], "now").changes;"""
    )
    assert [(change["id"], change.get("base")) for change in changes] == [
        ("new", {}), ("old", {"site": 9, "note": 9}), ("gone", None),
    ]  # fmt: skip


SENDING = """
    const answers = [];
    const asked = [];
    const server = new Server(async (path, { body }) => {
        asked.push(body instanceof FormData ? body.get("id") : JSON.parse(body).changes.map(({ id }) => id).join());
        const [status, answer] = await answers.shift()(body);
        if (status === "cut") throw new TypeError("network");
        return new Response(JSON.stringify(answer), { status, headers: { "Retry-After": "1" } });
    });
    const outbox = new Outbox(new MemoryDatabase());
    let nowMs = 1e6;
    const sender = new Sender({ outbox, server, answered: () => {}, settled: async () => {}, progress: () => {},
        now: () => nowMs, random: () => 0.5 });
    const bytes = new Uint8Array([1, 2, 3]).buffer;
    const photoNamed = (id) => outbox.add({ ...file(0, id), key: undefined, at: "now" }, { bytes });
    const photosNamed = async (...ids) => { for (const id of ids) await photoNamed(id); };
    const noted = (id) => outbox.add({ ...entry(0, create(id)), key: undefined });
    const taken = (body) => [201, { photo: { id: body.get("id"), kind: "photo" },
        received: { id: body.get("id"), sha256: body.get("sha256") } }];
    const took = (body) => [200, { results: JSON.parse(body).changes.map(({ id }) => result(id, "applied")) }];
    const error = (status, kind = "Some") => () => [status, { error: { message: "No.", field: null, kind } }];
    const left = async () => (await outbox.load()).entries.map(({ id, changes, attention }) =>
        (id ?? changes[0].id) + (attention ? "!" : ""));
"""  # fmt: skip


@pytest.mark.parametrize(
    ("script", "asked", "left"),
    [
        # Edits go before photos, and a photo that the server refuses for good keeps nobody back.
        (
            "await photosNamed('p', 'q'); await noted('a'); answers.push(took, error(422), taken);",
            ["a", "p", "q"], ["p!"],
        ),
        # One that fails for now does not keep the next back either.
        ("await photosNamed('p', 'q'); answers.push(error(500), taken);", ["p", "q"], ["p"]),
        # A whole batch that is refused is tried one by one, to find the one.
        ("await noted('a'); await noted('b'); answers.push(error(400), error(400), took);", ["a,b", "a", "b"], ["a!"]),
        # No signal: everything stays, nothing is marked.
        ("await noted('a'); await photoNamed('p'); answers.push(() => ['cut']);", ["a"], ["a", "p"]),
        # Not let in, or too many calls: stop, keep everything.
        ("await photosNamed('p', 'q'); answers.push(error(401, 'NotPaired'));", ["p"], ["p", "q"]),
        ("await photosNamed('p', 'q'); answers.push(error(429));", ["p"], ["p", "q"]),
        # A server that fails on everything is left alone for a while.
        ("await photosNamed(...'pqrs'); answers.push(error(503), error(503));", ["p", "q"], [*"pqrs"]),
        # An answer of something else (a sign-in page) lets nothing go.
        ("await photoNamed('p'); answers.push(() => [200, '<html>']);", ["p"], ["p"]),
        # Bytes that arrived damaged are sent again.
        ("await photoNamed('p'); answers.push(error(400, 'TransferDamaged'));", ["p"], ["p"]),
    ],
)  # fmt: skip
def test_what_is_sent_and_what_stays(run: Callable[[str], Any], script: str, asked: list[str], left: list[str]) -> None:
    assert run(f"{SENDING} {script} await sender.sendAll().catch(() => {{}}); return [asked, await left()];") == [
        asked,
        left,
    ]


def test_one_that_failed_is_tried_again_later_and_at_once_when_a_person_asks(run: Callable[[str], Any]) -> None:
    tries = run(
        f"""{SENDING}
        await photoNamed("p");
        answers.push(error(500), error(500), taken);
        const asks = [];
        const round = async () => {{ await sender.sendAll().catch(() => {{}}); asks.push(asked.length); }};
        await round();
        await round();
        nowMs += 1600;
        await round();
        sender.forgetWaits();
        await round();
        return [asks, await left(), sender.nextTryInMs];"""
    )
    assert tries == [[1, 1, 2, 3], [], None]


@pytest.mark.parametrize(
    ("address", "route"),
    [
        ("/", "shell"), ("/index.html", "shell"), ("/app.js", "shell"), ("/service_worker.js", None),
        ("/api/photos/x/picture?size=thumb", "picture"), ("/api/photos/x/picture?size=screen", "picture"),
        ("/api/photos/x/classes?size=screen&of=a1", "picture"), ("/api/photos/x/classes?size=screen", None),
        ("/api/photos/x/picture?size=full", None), ("/api/photos/x/original", None), ("/api/changes?since=0", None),
        ("/api/timeline.svg?width=390", "fresh"), ("/api/plantings/x/curves/colour.svg?width=3", "fresh"),
        ("/api/home", "fresh"), ("/api/plantings/x/look-at", "fresh"), ("https://elsewhere.example/app.js", None),
    ],
)  # fmt: skip
def test_the_service_worker_answers_only_what_it_is_there_for(
    run: Callable[[str], Any], address: str, route: str | None
) -> None:
    asked = run(
        f"""const files = {{ "/": "", "/app.js": "" }};
        const asked = (method) => routeOf(new Request("{address}", {{ method }}), location.origin, files);
        return [asked("GET"), asked("POST")];"""
    )
    assert asked == [route, None]


def test_the_last_photo_of_each_planting_is_brought_first(run: Callable[[str], Any]) -> None:
    wanted = run(
        """const store = new RecordStore();
        const have = (kind, id, fields) => store.receive([{ kind, id, seq: 1, version: 1, deleted: false, fields }]);
        have("trial", "t", { year: 2026 });
        have("planting", "one", { trial_id: "t" });
        const shown = (id, day, more = {}) =>
            have("photo", id, { planting_id: "one", taken_at: `2026-06-${day}`, ...more });
        shown("old", "01"); shown("new", "09"); shown("waits", "10", { waiting: true });
        return wantedPictures(store);"""
    )
    assert wanted == [f"/api/photos/{name}" for name in (
        "new/picture?size=thumb", "new/picture?size=screen", "old/picture?size=thumb",
        "old/picture?size=screen",  # two dates are compared by it
    )]  # fmt: skip
