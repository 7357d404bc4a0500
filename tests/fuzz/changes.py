"""Coverage-guided fuzzing of the sync endpoint, POST /api/changes; needs the extra `fuzz` (atheris).

`PYTHONPATH=tests python tests/fuzz/changes.py -max_total_time=300 CORPUS_FOLDER`. An answer of 5xx, or one of another
shape, ends it.
"""

from __future__ import annotations

import json
import random
import sys
import uuid
from pathlib import Path
from typing import Any

IDS = [str(uuid.UUID(int=n)) for n in range(1, 9)]
VALUES: list[Any] = [
    None,
    True,
    False,
    0,
    1,
    -1,
    2026,
    0.5,
    1e308,
    10**400,
    "",
    "x",
    "2026-06-01",
    "2026-06-01T10:00:00+02:00",
    "\0",
    "\ud800",
    "#aabbcc",
    "confirmed",
    "container",
    "trough",
    "fed",
    [],
    {},
    [[1, 2], [300, 2], [300, 400]],
    *IDS,
]


def changes_from(data: bytes) -> list[Any]:
    """Changes that are nearly sound: the bytes choose kinds, ids, fields and values, so that later checks are met."""
    from journal_server.domain.records import KINDS

    at = iter(data)
    kinds = sorted(KINDS)

    def pick(among: list[Any]) -> Any:
        return among[next(at, 0) % len(among)]

    changes: list[Any] = []
    while (more := next(at, None)) is not None and len(changes) < 12:
        kind = pick(kinds)
        names = sorted(KINDS[kind])
        change: dict[str, Any] = {"kind": kind, "id": pick(IDS)}
        change["fields"] = {pick(names): pick(VALUES) for _ in range(more % 9)}
        for part, values in (
            ("base", [None, {}, {names[0]: 1}]),
            ("delete", [False, True]),
            ("restore", [False, False, True]),
        ):
            change[part] = pick(values)
        changes.append(change if more % 31 else pick(VALUES))
    return changes


def body_from(data: bytes) -> bytes:
    """Half of the time changes, half of the time the bytes as they are."""
    return data[1:] if data[:1] < b"\x20" else json.dumps({"changes": changes_from(data[1:])}).encode()


def post(client: Any, body: bytes) -> None:
    answer = client.post("/api/changes", data=body, content_type="application/json")
    told = answer.get_json()
    assert answer.status_code in (200, 409, 413, 422), (answer.status_code, body)
    assert set(told) in ({"results"}, {"error"}), body
    if "error" not in told:
        assert client.get("/api/changes?limit=5").status_code == 200, body


def rounds(client: Any, count: int, seed: int = 7) -> None:
    """Without coverage: bytes at random from a seed."""
    rng = random.Random(seed)
    for _ in range(count):
        post(client, body_from(rng.randbytes(rng.choice((5, 40, 200)))))


def main() -> None:
    import atheris

    with atheris.instrument_imports(include=["journal_server"]):
        import journal_server.app
        import journal_server.services.apply_changes  # noqa: F401
    from hostile_photos import fresh_client

    for argument in sys.argv[1:]:
        if not argument.startswith("-"):
            Path(argument).mkdir(exist_ok=True)
    with fresh_client() as client:
        atheris.Setup(
            [*sys.argv, "-timeout=10", "-rss_limit_mb=2048", "-max_len=400"], lambda data: post(client, body_from(data))
        )
        atheris.Fuzz()


if __name__ == "__main__":
    main()
