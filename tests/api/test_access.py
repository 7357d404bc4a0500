"""The door to the network: nothing without a key, each role as far as it reaches, and every address in the table."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from conftest import SetUp
from flask import Flask
from flask.testing import FlaskClient

from journal_server.api.access import LEAST_ROLE, OPEN
from journal_server.app import create_app
from journal_server.domain.roles import HELPER, OWNER, READER, ROLES, WALK_KINDS, is_at_least
from journal_server.services.journal import Journal
from journal_server.services.lan_door import LanDoor
from journal_server.services.pairing import make_pairing_code

HOST = "192.168.1.20:8766"
AUTHORITY = b"not a certificate, only something to hash"


@pytest.fixture
def door() -> LanDoor:
    hosts = ["192.168.1.20", "garden.local"]
    return LanDoor("https", 8766, hosts, trust_port=8767, authority=AUTHORITY, names=[*hosts, "localhost"])


class Phone(FlaskClient):
    """A client on the network, with its own cookies."""

    base_url = f"https://{HOST}"

    def open(self, *given: Any, **more: Any) -> Any:
        more.setdefault("base_url", self.base_url)
        return super().open(*given, **more)


def phone_of(app: Flask) -> FlaskClient:
    app.test_client_class = Phone
    return app.test_client()


@pytest.fixture
def phone(journal: Journal, door: LanDoor) -> Callable[[], FlaskClient]:
    """Makes clients of the keyed application."""
    app = create_app(journal, door=door, keyed=True)
    return lambda: phone_of(app)


def paired(journal: Journal, client: FlaskClient, role: str, name: str = "Phone") -> dict[str, Any]:
    code = make_pairing_code(journal, role, datetime.now(UTC)).code
    answer = client.post("/api/pair", json={"code": code, "device_name": name})
    assert answer.status_code == 201, answer.get_json()
    device: dict[str, Any] = answer.get_json()["device"]
    return device


def routes(journal: Journal) -> set[tuple[str, str]]:
    rules = create_app(journal).url_map.iter_rules()
    return {(method, rule.rule) for rule in rules for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}}


def filled(rule: str) -> str:
    return re.sub(r"<[^>]+>", str(uuid.UUID(int=7)), rule)


def test_every_call_is_in_the_table_and_the_table_names_no_other(journal: Journal) -> None:
    assert routes(journal) == set(LEAST_ROLE)
    assert set(LEAST_ROLE.values()) == {OPEN, *ROLES}


def test_what_is_open_is_the_shell_and_pairing_alone(journal: Journal) -> None:
    opened = {rule for (_, rule), least in LEAST_ROLE.items() if least == OPEN and rule.startswith("/api/")}
    assert opened == {"/api/me", "/api/pair", "/api/leave", "/api/health", "/api/ready"}


@pytest.mark.parametrize(("method", "rule"), sorted(call for call, least in LEAST_ROLE.items() if least != OPEN))
def test_without_a_key_there_is_nothing(phone: Callable[[], FlaskClient], method: str, rule: str) -> None:
    answer = phone().open(filled(rule), method=method)
    assert answer.status_code == 401
    assert answer.get_json()["error"]["kind"] == "NotPaired"
    assert "not paired" in answer.get_json()["error"]["message"]
    forged = phone()
    forged.set_cookie("journal_key", "x" * 43, domain="192.168.1.20")
    assert forged.open(filled(rule), method=method).status_code == 401


def test_unknown_addresses_tell_a_stranger_nothing(phone: Callable[[], FlaskClient]) -> None:
    assert phone().get("/api/nothing").status_code == 401
    assert phone().get("/nothing.js").status_code == 404
    assert phone().open("/api/changes", method="OPTIONS").status_code == 401


@pytest.mark.parametrize("role", ROLES)
def test_each_role_reaches_as_far_as_the_table_says(
    journal: Journal, phone: Callable[[], FlaskClient], role: str
) -> None:
    client = phone()
    paired(journal, client, role)
    for (method, rule), least in LEAST_ROLE.items():
        if least == OPEN:
            continue
        answer = client.open(filled(rule), method=method, json={} if method == "POST" else None)
        allowed = is_at_least(role, least)
        assert (answer.status_code == 403) != allowed, (method, rule, answer.status_code)
        assert answer.status_code != 401
        if not allowed:
            error = answer.get_json()["error"]
            assert (error["kind"], error["message"][-1]) == ("NotAllowed", ".")
        answer.close()


def test_a_route_that_the_table_does_not_know_is_the_owners_alone(journal: Journal, door: LanDoor) -> None:
    app = create_app(journal, door=door, keyed=True)
    app.add_url_rule("/api/forgotten", view_func=lambda: "secret")
    for role, status in ((READER, 403), (HELPER, 403), (OWNER, 200)):
        client = phone_of(app)
        paired(journal, client, role)
        assert client.get("/api/forgotten").status_code == status


def test_a_helper_notes_walks_but_does_not_change_the_set_up(
    journal: Journal, set_up: SetUp, phone: Callable[[], FlaskClient]
) -> None:
    planting = set_up.planting()
    client = phone()
    paired(journal, client, HELPER)
    trial = {"kind": "trial", "id": set_up.trial_id, "fields": {"title": "Mine now"}}
    fields = {"trial_id": set_up.trial_id, "planting_id": planting, "done_on": "2026-06-12", "action": "fed"}
    care = {"kind": "care", "id": str(uuid.uuid4()), "fields": fields}
    answer = client.post("/api/changes", json={"changes": [trial, care, "nonsense"]})
    assert answer.status_code == 422
    results = answer.get_json()["results"]
    assert [one["status"] for one in results] == ["refused", "applied", "refused"]
    assert results[0]["id"] == set_up.trial_id
    assert "only the journal's owner" in results[0]["errors"][0]["message"]
    assert client.get("/api/changes").get_json()["records"][0]["fields"]["title"] == "Terrace"


def test_a_reader_changes_nothing_at_all(journal: Journal, set_up: SetUp, phone: Callable[[], FlaskClient]) -> None:
    client = phone()
    paired(journal, client, READER)
    for kind in sorted(WALK_KINDS | {"trial"}):
        change = {"kind": kind, "id": str(uuid.uuid4()), "fields": {}}
        assert client.post("/api/changes", json={"changes": [change]}).status_code == 403
    assert client.post("/api/photos", data={}).status_code == 403
    assert client.get("/api/changes").status_code == 200


def test_pairing_sets_a_cookie_that_scripts_and_other_sites_do_not_get(
    journal: Journal, phone: Callable[[], FlaskClient]
) -> None:
    client = phone()
    assert client.get("/api/me").get_json() == {"device": None, "role": None, "paired": False, "local": False}
    code = make_pairing_code(journal, HELPER, datetime.now(UTC)).code
    answer = client.post("/api/pair", json={"code": code, "device_name": "Ada's phone"})
    cookie = answer.headers["Set-Cookie"]
    assert {part.strip() for part in cookie.split(";")[1:]} >= {"Secure", "HttpOnly", "Path=/", "SameSite=Strict"}
    assert "Max-Age=34560000" in cookie
    assert "no-store" in answer.headers["Cache-Control"]
    me = client.get("/api/me").get_json()
    assert (me["device"]["name"], me["role"], me["paired"], me["local"]) == ("Ada's phone", "helper", True, False)
    assert "key" not in str(answer.get_json())


def test_over_plain_http_the_cookie_is_not_secure_since_none_would_come_back(journal: Journal) -> None:
    app = create_app(journal, door=LanDoor("http", 8766, ["192.168.1.20"], names=["192.168.1.20"]), keyed=True)
    client = app.test_client()
    base_url = f"http://{HOST}"
    code = make_pairing_code(journal, OWNER, datetime.now(UTC)).code
    answer = client.post("/api/pair", json={"code": code, "device_name": "Phone"}, base_url=base_url)
    assert "Secure" not in answer.headers["Set-Cookie"]
    assert client.get("/api/home", base_url=base_url).status_code == 200


def test_wrong_codes_are_refused_in_words_then_held_off(journal: Journal, phone: Callable[[], FlaskClient]) -> None:
    make_pairing_code(journal, OWNER, datetime.now(UTC))
    for _ in range(5):
        answer = phone().post("/api/pair", json={"code": "AAAA AAAA", "device_name": "Phone"})
        assert (answer.status_code, answer.get_json()["error"]["field"]) == (422, "code")
    held_off = phone().post("/api/pair", json={"code": "AAAA AAAA", "device_name": "Phone"})
    assert (held_off.status_code, held_off.get_json()["error"]["kind"]) == (429, "TooManyTries")


def test_a_revoked_phone_is_out_with_its_next_request(journal: Journal, phone: Callable[[], FlaskClient]) -> None:
    owner, other = phone(), phone()
    paired(journal, owner, OWNER, "Owner's")
    device = paired(journal, other, HELPER, "Lost phone")
    told = other.get("/api/home").get_json()
    assert "time_zone" in told["journal"]
    assert "data_folder" not in told["journal"]
    listed = owner.delete(f"/api/devices/{device['id']}").get_json()["devices"]
    assert [(one["name"], one["this"], one["revoked_at"] is None) for one in listed] == [
        ("Owner's", True, True),
        ("Lost phone", False, False),
    ]
    refused = other.get("/api/home")
    assert (refused.status_code, refused.get_json()["error"]["kind"]) == (401, "NotPaired")
    assert "taken back" in refused.get_json()["error"]["message"]
    assert other.get("/api/me").get_json()["paired"] is False


def test_a_phone_can_leave_by_itself(journal: Journal, phone: Callable[[], FlaskClient]) -> None:
    client = phone()
    paired(journal, client, READER)
    key = client.get_cookie("journal_key", domain="192.168.1.20")
    assert key is not None
    assert client.post("/api/leave").get_json() == {"left": True}
    assert client.get_cookie("journal_key", domain="192.168.1.20") is None
    client.set_cookie("journal_key", key.value, domain="192.168.1.20")
    assert client.get("/api/home").status_code == 401, "the key itself is void, not only forgotten"


def test_the_owner_makes_codes_and_renames(journal: Journal, phone: Callable[[], FlaskClient]) -> None:
    owner = phone()
    device = paired(journal, owner, OWNER)
    made = owner.post("/api/devices", json={"role": HELPER})
    body = made.get_json()
    assert made.status_code == 201
    assert body["address"] == f"https://192.168.1.20:8766/#/pair?code={body['code']}"
    assert body["qr"].startswith("<?xml")
    assert "<svg" in body["qr"]
    assert owner.post("/api/devices", json={"role": "queen"}).get_json()["error"]["field"] == "role"
    renamed = owner.post(f"/api/devices/{device['id']}", json={"name": "Garden phone"})
    assert renamed.get_json()["devices"][0]["name"] == "Garden phone"
    lan = renamed.get_json()["lan"]
    assert lan["trust_pages"] == ["http://192.168.1.20:8767/", "http://garden.local:8767/"]
    assert re.fullmatch("([0-9A-F]{2} ){31}[0-9A-F]{2}", lan["fingerprint"])


def test_on_the_journals_own_computer_nothing_needs_pairing(client: FlaskClient) -> None:
    assert client.get("/api/me").get_json() == {"device": None, "role": "owner", "paired": False, "local": True}
    assert client.get("/api/devices").get_json() == {"devices": [], "lan": None}
    refused = client.post("/api/devices", json={"role": OWNER})
    assert "serve --lan" in refused.get_json()["error"]["message"]
    assert client.post("/api/pair", json={"code": "A", "device_name": "x"}).status_code == 422


@pytest.mark.parametrize(
    ("host", "status"),
    [
        (HOST, 200),
        ("garden.local:8766", 200),
        ("GARDEN.local", 200),
        ("evil.example", 403),
        ("192.168.1.20.evil.example:8766", 403),
        ("[", 403),
        ("", 403),
    ],
)
def test_only_its_own_names_are_answered(phone: Callable[[], FlaskClient], host: str, status: int) -> None:
    assert phone().get("/api/me", headers={"Host": host}).status_code == status


def test_the_computers_own_listener_does_not_answer_by_a_name_of_the_network(journal: Journal, door: LanDoor) -> None:
    """Else a page of another machine could reach the listener that asks for no key."""
    own = create_app(journal, door=door).test_client()
    assert own.get("/api/home", headers={"Host": "garden.local:8765"}).status_code == 403
    assert own.get("/api/home", headers={"Host": "127.0.0.1:8765"}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "http://192.168.1.20:8766"},
        {"Origin": "https://192.168.1.20:9999"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_edits_come_from_the_journals_own_pages_only(
    journal: Journal, phone: Callable[[], FlaskClient], headers: dict[str, str]
) -> None:
    client = phone()
    paired(journal, client, OWNER)
    for address in ("/api/settings", "/api/leave", "/api/pair"):
        assert client.post(address, json={}, headers=headers).status_code == 403
    assert client.get("/api/me").get_json()["paired"] is True
    fine = client.post("/api/settings", json={}, headers={"Origin": f"https://{HOST}", "Sec-Fetch-Site": "same-origin"})
    assert fine.status_code == 200


def test_a_certificate_for_a_whole_domain_answers_to_one_part_more(journal: Journal) -> None:
    door = LanDoor("https", 443, ["journal.example.org"], names=["*.example.org"])
    assert door.answers_to("journal.example.org")
    assert not door.answers_to("a.journal.example.org")
    assert not door.answers_to("example.org")
    assert not door.answers_to("evilexample.org")
