"""Over HTTP: the timeline in another order and in groups; all curves of a planting at once."""

from __future__ import annotations

import contextlib
import re
from xml.etree import ElementTree as ET

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_season import measured_season

from journal_server.services.journal import Journal, open_journal
from journal_server.services.timeline import GROUPS, SORTS, Order, timeline_figure
from journal_server.storage.records import load_record, load_records, save_record


@pytest.fixture
def trial(journal: Journal, set_up: SetUp) -> dict[str, str]:
    """Three plantings in walking order: the first fills least, the last has no photo; ids by name."""
    racks = [
        set_up.make("planter", trial_id=set_up.trial_id, name=f"{kind} {order}", planter_kind=kind, walk_order=order)
        for order, kind in enumerate(("trough", "trough", "wall rack"))
    ]
    made = {name: set_up.planting(planter_id=rack) for name, rack in zip(("least", "most", "bare"), racks, strict=True)}
    for name, fill in (("least", 0.3), ("most", 0.8)):
        measured_season(journal, made[name], {"2026-06-10": (fill / 2, 0.1), "2026-07-10": (fill, 0.2)})
    return made


def order_of(client: FlaskClient, set_up: SetUp, query: str) -> list[str]:
    answer = client.get(f"/api/timeline.svg?trial={set_up.trial_id}&width=390&{query}")
    assert answer.status_code == 200
    return re.findall(r'class="fig-row" data-planting="([^"]+)"', answer.text)


def test_rows_come_in_the_order_asked_for(client: FlaskClient, set_up: SetUp, trial: dict[str, str]) -> None:
    least, most, bare = trial["least"], trial["most"], trial["bare"]
    assert order_of(client, set_up, "") == [least, most, bare]
    assert order_of(client, set_up, "sort=canopy_fill") == [most, least, bare]
    for sort in SORTS:
        for group in GROUPS:
            assert sorted(order_of(client, set_up, f"sort={sort}&group={group}")) == sorted(trial.values())


def test_headings_and_table_say_the_groups(client: FlaskClient, set_up: SetUp, trial: dict[str, str]) -> None:
    svg = client.get(f"/api/timeline.svg?trial={set_up.trial_id}&sort=canopy_fill&group=planter").text
    heads = [
        "".join(g.itertext())
        for g in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}g")
        if g.get("class") == "fig-group"
    ]
    assert heads == ["Trough", "Wall rack: canopy fill not known"]
    table = client.get(f"/api/timeline?trial={set_up.trial_id}&sort=spent_share&group=light").get_json()
    assert table["headers"][2:4] == ["light", "sorted by spent share"]
    assert table["rows"][0][2:4] == ["light not said", "2 % (0–4)"]


def test_a_new_number_moves_the_row(
    client: FlaskClient, set_up: SetUp, trial: dict[str, str], journal: Journal
) -> None:
    assert order_of(client, set_up, "sort=canopy_fill")[0] == trial["most"]
    measured_season(journal, trial["least"], {"2026-08-10": (0.95, 0.2)})
    assert order_of(client, set_up, "sort=canopy_fill")[0] == trial["least"]


def test_rows_drawn_before_are_those_that_would_be_drawn_now(
    client: FlaskClient, set_up: SetUp, trial: dict[str, str], journal: Journal
) -> None:
    path = f"/api/timeline.svg?trial={set_up.trial_id}&width=390"
    before = client.get(path).text
    measured_season(journal, trial["most"], {"2026-07-20": (0.95, 0.2), "2026-06-01": (0.1, 0.1)})
    set_up.edit("planter", racks_of(journal)[0], name="Another name")
    after = client.get(path).text
    assert after != before
    assert "Another name" in after
    with contextlib.closing(open_journal(journal.folder, journal.database.url)) as fresh:
        assert timeline_figure(fresh, set_up.trial_id, 390, Order()) == after


def racks_of(journal: Journal) -> list[str]:
    with journal.database.reading() as session:
        return [record.id for record in load_records(session, "planter")]


@pytest.mark.parametrize("query", ["sort=height", "group=height", "sort=%01"])
def test_another_order_is_refused(client: FlaskClient, set_up: SetUp, query: str) -> None:
    for path in ("timeline", "timeline.svg"):
        answer = client.get(f"/api/{path}?trial={set_up.trial_id}&{query}")
        assert answer.status_code == 422
        assert answer.get_json()["error"]["field"] == query.split("=")[0]


def test_all_curves_at_once_are_those_asked_for_one_by_one(client: FlaskClient, trial: dict[str, str]) -> None:
    base = f"/api/plantings/{trial['most']}/curves"
    curves = client.get(f"{base}?width=390").get_json()["curves"]
    assert [curve["of"] for curve in curves] == [
        "canopy_fill", "bloom_cover", "spent_share", "flower_to_leaf", "evenness", "colour",
    ]  # fmt: skip
    for curve in curves:
        assert curve["svg"] == client.get(f"{base}/{curve['of']}.svg?width=390").text
        assert curve["table"] == client.get(f"{base}/{curve['of']}").get_json()
    assert client.get("/api/plantings/nowhere/curves").status_code == 404


def test_a_note_moves_no_photo_and_a_card_does(journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(card_code="TAG-7K3Q9M")
    (photo,) = measured_season(journal, planting, {"2026-06-10": (0.5, 0.1)}, tag="TAG-7K3Q9M")
    with journal.database.writing() as session:
        save_record(session, "photo", photo, {"match": "matched", "tags": ["TAG-7K3Q9M"], "planting_id": None})
    set_up.edit("planting", planting, note="Watered twice.")
    with journal.database.reading() as session:
        assert load_record(session, photo).fields["planting_id"] is None  # type: ignore[union-attr]
    set_up.edit("planting", planting, planted_on="2026-05-17")
    with journal.database.reading() as session:
        assert load_record(session, photo).fields["planting_id"] == planting  # type: ignore[union-attr]
