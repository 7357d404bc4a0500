"""Over HTTP: a planting that turned out to be another cultivar, and a cultivar that got another name."""

from __future__ import annotations

import uuid
from typing import Any

from conftest import SetUp
from flask.testing import FlaskClient
from made_season import measured_season

from journal_server.domain.roles import HELPER, may_change
from journal_server.services.journal import Journal


def send(client: FlaskClient, *changes: dict[str, Any]) -> list[dict[str, Any]]:
    results: list[dict[str, Any]] = client.post("/api/changes", json={"changes": list(changes)}).get_json()["results"]
    return results


def edit(kind: str, record_id: str, **fields: Any) -> dict[str, Any]:
    return {"kind": kind, "id": record_id, "fields": fields}


def says_of(client: FlaskClient, trial_id: str, planting_id: str) -> dict[str, str]:
    """Every answer that names the planting's cultivar, as text."""
    addresses = [
        f"/api/timeline.svg?trial={trial_id}&width=390", f"/api/timeline?trial={trial_id}", "/api/numbers?format=csv",
        f"/api/compare/plantings?by=cultivar&trial={trial_id}&of=peak_bloom",
        f"/api/compare/ranking?by=cultivar&trial={trial_id}&of=peak_bloom",
        f"/api/calendar.ics?trial={trial_id}", f"/api/plantings/{planting_id}/look-at?day=2026-06-20",
    ]  # fmt: skip
    return {address: client.get(address).get_data(as_text=True) for address in addresses}


def test_a_doubt_resolved_names_the_planting_anew_everywhere_and_the_history_stays(
    client: FlaskClient, journal: Journal, set_up: SetUp
) -> None:
    wrong = set_up.make("cultivar", genus="Petunia", name="Wrongly Labelled")
    right = set_up.make("cultivar", genus="Petunia", name="Rightly Known")
    planting = set_up.planting(cultivar_id=wrong, identity="doubtful", label_said="Wrongly Labelled")
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7)
    measured_season(journal, planting, {"2026-06-01": (0.4, 0.2), "2026-06-10": (0.6, 0.3), "2026-06-20": (0.7, 0.4)})
    before = says_of(client, set_up.trial_id, planting)
    named = [address for address, text in before.items() if "Wrongly Labelled" in text]
    assert len(named) >= 5
    note = str(uuid.uuid4())
    resolved = [
        edit("planting", planting, cultivar_id=right, identity="confirmed"),
        edit(
            "identity_note", note, planting_id=planting, decided_on="2026-06-20", thought="confirmed",
            was_cultivar_id=wrong, was_named="Petunia ‘Wrongly Labelled’", label_said="Wrongly Labelled",
            cultivar_id=right, says="Petunia ‘Rightly Known’", note="the flower is veined",
        ),
    ]  # fmt: skip
    assert [result["status"] for result in send(client, *resolved)] == ["applied", "applied"]
    for address, text in says_of(client, set_up.trial_id, planting).items():
        assert "Wrongly Labelled" not in text, address
        assert "Rightly Known" in text or "look-at" in address or address not in named, address
    assert [result["status"] for result in send(client, *resolved)] == ["applied", "applied"]
    (kept,) = [r for r in client.get("/api/changes").get_json()["records"] if r["kind"] == "identity_note"]
    assert (kept["fields"]["was_named"], kept["version"]) == ("Petunia ‘Wrongly Labelled’", 1)


def test_a_cultivar_that_no_planting_is_any_more_can_go_and_the_note_still_tells_of_it(
    client: FlaskClient, set_up: SetUp
) -> None:
    wrong = set_up.make("cultivar", genus="Petunia", name="Never Was")
    planting = set_up.planting()
    set_up.make(
        "identity_note", planting_id=planting, decided_on="2026-06-20", thought="confirmed", was_cultivar_id=wrong,
        was_named="Petunia ‘Never Was’",
    )  # fmt: skip
    (gone,) = send(client, {"kind": "cultivar", "id": wrong, "delete": True})
    assert gone["status"] == "applied"
    (late,) = send(client, edit("identity_note", str(uuid.uuid4()), planting_id=planting, was_cultivar_id=wrong))
    assert {error["field"] for error in late["errors"]} == {"decided_on", "thought"}
    (refused,) = send(
        client,
        edit(
            "identity_note", str(uuid.uuid4()), planting_id=planting, decided_on="2026-06-21", thought="maybe",
        ),
    )  # fmt: skip
    assert [error["field"] for error in refused["errors"]] == ["thought"]


def test_a_renamed_cultivar_keeps_its_earlier_name_which_nobody_can_set(client: FlaskClient, set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Plum")
    set_up.planting(cultivar_id=cultivar)
    (renamed,) = send(client, edit("cultivar", cultivar, name="Plum Gaslight", habit="trailing"))
    assert renamed["record"]["fields"]["earlier_names"] == ["Petunia ‘Plum’"]
    (again,) = send(client, edit("cultivar", cultivar, name="Plum Gaslight"))
    assert (again["record"]["fields"]["earlier_names"], again["record"]["version"]) == (
        ["Petunia ‘Plum’"], renamed["record"]["version"],
    )  # fmt: skip
    (set_by_hand,) = send(client, edit("cultivar", cultivar, earlier_names=["Petunia ‘Mine’"]))
    assert (set_by_hand["status"], set_by_hand["errors"][0]["field"]) == ("refused", "earlier_names")
    assert "Plum Gaslight" in client.get(f"/api/timeline.svg?trial={set_up.trial_id}").get_data(as_text=True)


def test_a_helper_may_not_say_what_a_planting_is() -> None:
    assert not may_change(HELPER, "planting")
    assert not may_change(HELPER, "identity_note")
