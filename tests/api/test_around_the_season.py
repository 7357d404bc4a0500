"""Over HTTP: weather files, the care calendar with and without its key, a new season, putting back."""

from __future__ import annotations

import uuid

from api.test_access import HELPER, READER, door, paired, phone
from conftest import SetUp
from flask.testing import FlaskClient
from icalendar import Calendar

from journal_server.services.journal import Journal

__all__ = ["door", "phone"]


def test_a_weather_file_is_looked_at_then_taken_in(client: FlaskClient, set_up: SetUp) -> None:
    body = {"trial_id": set_up.trial_id, "text": "date,tmin,tmax\n2026-05-16,10,33\n"}
    seen = client.post("/api/weather/import", json=body).get_json()
    assert (seen["written"], seen["counts"], seen["rows"][0]["becomes"]) == (0, {"new": 1, "wrong": 0}, "new")
    made = client.post("/api/weather/import", json={**body, "dry_run": False})
    assert (made.status_code, made.get_json()["written"]) == (200, 1)
    told = client.get(f"/api/weather?trial={set_up.trial_id}").get_json()
    assert (told["heat_days"], told["heat_day_c"]) == (["2026-05-16"], 32)
    assert told["quotes"]["heat_days"]["text"].startswith("Heat days, from 32 °C: 1 on 16 May 2026")
    assert "rain" not in told["quotes"], "no rain was recorded"
    wrong = client.post("/api/weather/import", json={**body, "text": "2026-05-16,warm,1\n", "dry_run": False})
    assert wrong.status_code == 422
    assert wrong.get_json()["rows"][0]["errors"][0]["field"] == "tmin_c"


def test_weather_refuses_bad_input_at_its_field(client: FlaskClient, set_up: SetUp) -> None:
    good = {"trial_id": set_up.trial_id, "text": "2026-05-16,10,33\n"}
    for field, bad in {
        "trial_id": 7, "text": None, "columns": [1], "date_order": "backwards", "temperature_unit": "K",
        "rain_unit": "cups", "first_day": "May", "forecast": "yes", "replace": 1, "dry_run": 0, "station": 5,
    }.items():  # fmt: skip
        answer = client.post("/api/weather/import", json={**good, field: bad})
        assert (answer.status_code, answer.get_json()["error"]["field"]) == (422, field), field
    assert client.post("/api/weather/import", json={**good, "columns": {"day": -1}}).status_code == 422
    assert client.get("/api/weather?trial=nowhere").status_code == 404


def test_the_calendar_on_this_computer(client: FlaskClient, set_up: SetUp) -> None:
    set_up.planting()
    set_up.make("care_plan", trial_id=set_up.trial_id, action="fed", every_days=7)
    answer = client.get(f"/api/calendar.ics?trial={set_up.trial_id}")
    assert answer.content_type == "text/calendar; charset=utf-8"
    assert Calendar.from_ical(answer.data).walk("VEVENT") != []
    assert client.get("/api/calendar.ics?trial=nowhere").status_code == 404


def test_a_calendar_address_opens_its_calendar_on_the_network_and_nothing_else(
    client: FlaskClient, phone, set_up: SetUp, journal: Journal
) -> None:
    made = client.post("/api/calendar-addresses", json={"trial_id": set_up.trial_id, "name": "Tablet"})
    assert made.status_code == 201
    (url,) = made.get_json()["urls"]
    path = "/" + url.split("/", 3)[3]
    program = phone()
    assert program.get(path).data.startswith(b"BEGIN:VCALENDAR\r\n")
    other = set_up.make("trial", title="Other", year=2026)
    key = path.split("key=")[1]
    for closed in (
        f"/api/calendar.ics?trial={set_up.trial_id}", f"/api/calendar.ics?trial={other}&key={key}",
        f"/api/calendar.ics?trial={set_up.trial_id}&key=", f"/api/changes?key={key}",
        f"/api/weather?trial={set_up.trial_id}&key={key}",
    ):  # fmt: skip
        answer = program.get(closed)
        assert (answer.status_code, answer.get_json()["error"]["kind"]) == (401, "NotPaired"), closed
    listed = client.get("/api/calendar-addresses").get_json()["addresses"]
    assert [(one["name"], "key" in one) for one in listed] == [("Tablet", False)]
    assert client.delete(f"/api/calendar-addresses/{listed[0]['id']}").status_code == 200
    assert program.get(path).status_code == 401


def test_only_the_owner_makes_calendar_addresses_and_seasons(phone, journal: Journal, set_up: SetUp) -> None:
    for role in (READER, HELPER):
        device = phone()
        paired(journal, device, role)
        for path in ("/api/calendar-addresses", f"/api/trials/{set_up.trial_id}/new-season", "/api/weather/import"):
            assert device.post(path, json={}).status_code == 403, (role, path)


def test_a_new_season_is_looked_at_then_written(client: FlaskClient, set_up: SetUp) -> None:
    set_up.planting("TAG-7K3Q9M")
    path = f"/api/trials/{set_up.trial_id}/new-season"
    body = {"title": "Next", "year": 2027, "dry_run": False}
    refused = client.post(path, json=body)
    assert refused.status_code == 422
    assert refused.get_json()["copied"][-1]["errors"][0]["field"] == "card_code"
    made = client.post(path, json={**body, "cards": "fresh"})
    assert (made.status_code, made.get_json()["trial_id"] is not None) == (200, True)
    for field, bad in {"title": "", "year": 1500, "planted_on": "May", "cards": "none", "plantings": "all"}.items():
        answer = client.post(path, json={**body, field: bad})
        assert (answer.status_code, answer.get_json()["error"]["field"]) == (422, field)
    assert client.post("/api/trials/nowhere/new-season", json=body).status_code == 404


def test_a_deleted_record_is_put_back(client: FlaskClient, set_up: SetUp) -> None:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up")
    post = lambda **more: client.post(  # noqa: E731
        "/api/changes", json={"changes": [{"kind": "cultivar", "id": cultivar, **more}]}
    )
    post(delete=True)
    answer = post(restore=True)
    (result,) = answer.get_json()["results"]
    assert (answer.status_code, result["record"]["deleted"], result["record"]["fields"]["name"]) == (
        200,
        False,
        "Made Up",
    )
    missing = client.post(
        "/api/changes", json={"changes": [{"kind": "cultivar", "id": str(uuid.uuid4()), "restore": True}]}
    )
    assert missing.status_code == 422


def test_units_are_settings_and_only_known_ones(client: FlaskClient) -> None:
    assert client.post("/api/settings", json={"temperature_unit": "°F", "length_unit": "inches"}).status_code == 200
    refused = client.post("/api/settings", json={"temperature_unit": "K"})
    assert (refused.status_code, refused.get_json()["error"]["field"]) == (422, "temperature_unit")
