"""The rules of painting: lines are thinned but not bent, what is begun fits, the view holds its place."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Any

import pytest
from browser.serving import serve
from playwright.sync_api import Page

from journal_server.domain.hand_strokes import MOST_BYTES, MOST_POINTS, MOST_STROKES, strokes
from journal_server.services.journal import open_journal

PARTS = """
    const { LONGEST_STROKE, Painting, simplified } = await import("/screens/correct/strokes.js");
    const { View } = await import("/screens/correct/view.js");
    const { correctionInForce, correctionState } = await import("/store/corrections.js");
    const { RecordStore } = await import("/store/record_store.js");
    const dot = (x, name = "bloom") => ({ class: name, width: 12, points: [[x, 5]] });
    const xs = (painting) => painting.strokes.map(({ points }) => points[0][0]);
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


def test_a_line_is_thinned_by_less_than_a_twentyfifth_of_its_width(run: Callable[[str], Any]) -> None:
    drawn, kept = run(
        """const points = Array.from({ length: 900 }, (_, at) =>
            [300 + 200 * Math.cos(at / 70) + (at % 3) * 0.3, 300 + (150 - at / 9) * Math.sin(at / 70)]);
        return [points, simplified({ class: "bloom", width: 30, points }).points];"""
    )
    assert 10 < len(kept) < 120
    assert kept[0] == pytest.approx(drawn[0], abs=0.06)
    assert kept[-1] == pytest.approx(drawn[-1], abs=0.06)
    at = 0
    for x, y in drawn:
        nearest = min(
            _distance(x, y, *kept[i], *kept[i + 1]) for i in range(max(0, at - 2), min(len(kept) - 1, at + 3))
        )
        while at < len(kept) - 2 and _distance(x, y, *kept[at + 1], *kept[at + 2]) <= _distance(
            x, y, *kept[at], *kept[at + 1]
        ):
            at += 1
        assert nearest <= 30 / 25 + 0.15


def _distance(x: float, y: float, ax: float, ay: float, bx: float, by: float) -> float:
    length = (bx - ax) ** 2 + (by - ay) ** 2
    along = max(0.0, min(1.0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length)) if length else 0.0
    return float(((x - ax - along * (bx - ax)) ** 2 + (y - ay - along * (by - ay)) ** 2) ** 0.5)


@pytest.mark.parametrize(
    ("points", "kept"),
    [
        ("[[1.04, 2]]", [[1, 2]]),
        ("[[1, 2], [1, 2]]", [[1, 2]]),
        ("[[1, 2], [1.01, 2], [1, 2.01]]", [[1, 2]]),
        ("[[0, 0], [5, 0], [10, 0]]", [[0, 0], [10, 0]]),
        ("[[0, 0], [5, 3], [10, 0]]", [[0, 0], [5, 3], [10, 0]]),
        ("[[0, 0], [9, 0], [0, 0]]", [[0, 0], [9, 0], [0, 0]]),
    ],
)
def test_short_lines_keep_their_shape(run: Callable[[str], Any], points: str, kept: list[list[float]]) -> None:
    assert run(f"return simplified({{ class: 'bloom', width: 10, points: {points} }}).points;") == kept


def test_going_back_and_forth(run: Callable[[str], Any]) -> None:
    seen = run(
        """const painting = new Painting([dot(1)]);
        const seen = [];
        const note = () => seen.push([xs(painting), painting.canUndo, painting.canRedo]);
        note();
        painting.add(dot(2)); painting.add(dot(3)); note();
        painting.undo(); note();
        painting.add(dot(4)); note();
        painting.clear(); note();
        painting.undo(); note();
        painting.undo(); painting.undo(); painting.undo(); note();
        painting.redo(); painting.redo(); painting.redo(); painting.redo(); note();
        return seen;"""
    )
    assert seen == [
        [[1], False, False],
        [[1, 2, 3], True, False],
        [[1, 2], True, True],
        [[1, 2, 4], True, False],
        [[], True, False],
        [[1, 2, 4], True, True],
        [[1], False, True],
        [[], True, False],
    ]


def test_a_very_long_line_goes_on_as_another_that_meets_it(run: Callable[[str], Any]) -> None:
    longest, kept = run(
        """const painting = new Painting();
        painting.add({ class: "spent", width: 1, points: Array.from({ length: 2500 }, (_, at) => [at, (at % 2) * 9]) });
        return [LONGEST_STROKE, painting.strokes.map(({ points }) => points)];"""
    )
    assert longest <= MOST_POINTS
    assert [len(points) for points in kept] == [800, 800, 800, 103]
    assert all(first[-1] == second[0] for first, second in itertools.pairwise(kept))
    assert sum(len(points) for points in kept) - 3 == 2500


@pytest.mark.parametrize("step", [1, 3.3])
@pytest.mark.parametrize("points", [1, 40, 2900])
def test_what_may_still_be_begun_always_fits_the_record(run: Callable[[str], Any], points: int, step: float) -> None:
    """Strokes are added as long as the painting says that there is room; the journal takes them all."""
    painted = run(
        f"""const painting = new Painting();
        const at = (index, shift) => [9000 + index * {step} + shift, 7000 + (index % 2) * 40];
        const line = (shift) => Array.from({{ length: {points} }}, (_, index) => at(index, shift));
        while (painting.fullness < 1)
            painting.add({{ class: "foliage", width: 123.4, points: line(painting.strokes.length) }});
        return painting.strokes;"""
    )
    kept = strokes(painted)
    assert len(kept) <= MOST_STROKES
    assert len(json.dumps(kept, separators=(",", ":"))) <= MOST_BYTES


def test_what_lies_under_the_fingers_stays_there(run: Callable[[str], Any]) -> None:
    seen = run(
        """const view = new View({ width: 4000, height: 3000 });
        view.resize(390, 300);
        const whole = [view.scale, view.x, view.y];
        const before = view.toPhoto([200, 150]);
        view.zoom(4, [200, 150]);
        const after = view.toPhoto([200, 150]);
        view.pan(-1e6, 1e6);
        const held = [view.x, view.y];
        view.zoom(1e9, [0, 0]);
        const most = view.scale / view.fitted;
        view.zoom(1e-9, [0, 0]);
        const least = [view.scale, view.x, view.y];
        view.zoom(6, [390, 300]);
        view.show([0, 0]);
        const shown = view.toStage([0, 0]);
        view.fit();
        view.zoom(6, [200, 140]);
        const there = view.toPhoto([195, 150]);
        view.resize(844, 200);
        return { whole, before, after, held, most, least, shown, there, turned: view.toPhoto([422, 100]) };"""
    )
    assert seen["whole"] == pytest.approx([0.0975, 0, 3.75])
    assert seen["after"] == pytest.approx(seen["before"])
    assert seen["held"] == pytest.approx([390 - 4000 * 0.39 - 56, 56])
    assert seen["most"] == pytest.approx(16)
    assert seen["least"] == pytest.approx(seen["whole"])
    assert seen["shown"] == pytest.approx([28, 28])
    assert seen["turned"] == pytest.approx(seen["there"])


@pytest.mark.parametrize(
    ("counted", "made", "state"),
    [
        ("undefined", "[]", "none"),
        ("undefined", "[['a', 4]]", "waits"),
        ("{ id: 'a' }", "[['a', 4]]", "counted"),
        ("{ id: 'a' }", "[['a', 4], ['b', 7]]", "waits"),
        ("{ id: 'b' }", "[['b', 7], ['a', 4]]", "counted"),
        ("{ id: 'a' }", "[['b', 0], ['a', 4]]", "waits"),
        ("{ id: 'a' }", "[]", "taken back"),
    ],
)
def test_how_the_numbers_stand_to_what_was_painted(
    run: Callable[[str], Any], counted: str, made: str, state: str
) -> None:
    """A correction that waits on this device (seq 0) is newer than all that was sent."""
    assert state == run(
        f"""const store = new RecordStore();
        const fields = {{ photo_id: "p" }};
        for (const [id, seq] of {made})
            if (seq) store.receive([{{ kind: "correction", id, seq, version: 1, deleted: false, fields }}]);
            else store.expect([{{ kind: "correction", id, fields, base: {{}} }}]);
        const measurement = {{ fields: {{ numbers: {{ by_hand: {counted} }} }} }};
        return correctionState(correctionInForce(store, "p"), measurement);"""
    )
