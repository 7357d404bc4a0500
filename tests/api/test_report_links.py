"""A reader's link over HTTP: it opens one report, as it was when it was shared, and nothing else."""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pypdfium2
import pytest
from api.test_access import HELPER, OWNER, READER, door, paired, phone
from conftest import SetUp
from flask.testing import FlaskClient
from made_photos import jpeg
from made_reports import SEASON, change, photographed
from PIL import Image
from PIL.ExifTags import IFD

from journal_server.services import report_links
from journal_server.services.journal import Journal
from journal_server.services.report_links import MOST_OPEN
from journal_server.storage.keyed_addresses import load_report_copy

__all__ = ["door", "phone"]

Phones = Callable[[], FlaskClient]
DAY = "2026-07-11"


def taken_in_the_garden() -> bytes:
    """A photo whose Exif says where it was taken."""
    image = Image.open(io.BytesIO(jpeg("2026:07:11 10:00:00")))
    exif = image.getexif()
    exif.get_ifd(IFD.GPSInfo).update({1: "N", 2: (48.0, 6.0, 1.5), 3: "E", 4: (11.0, 30.0, 2.25)})
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    assert dict(Image.open(out).getexif().get_ifd(IFD.GPSInfo))
    return out.getvalue()


@pytest.fixture
def cultivar(journal: Journal, set_up: SetUp) -> str:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up")
    planting = set_up.planting(cultivar_id=cultivar)
    photographed(journal, planting, {DAY: SEASON[DAY]}, content={DAY: taken_in_the_garden()})
    change(journal, "trial", set_up.trial_id, site="Behind the old mill")
    return cultivar


def share(client: FlaskClient, set_up: SetUp, **more: Any) -> tuple[dict[str, Any], str, str]:
    """The answer, and the addresses of the page and of the PDF as asked of the journal."""
    body = {"report": "trial", "trial_id": set_up.trial_id, "name": "The neighbour"} | more
    answer = client.post("/api/report-links", json=body)
    assert answer.status_code == 201, answer.get_json()
    assert answer.headers["Cache-Control"] == "no-store"
    told = answer.get_json()
    page, paper = (told["urls"][form][0] for form in ("html", "pdf"))
    return told, "/" + page.split("/", 3)[3], "/" + paper.split("/", 3)[3]


def words_of(pdf: bytes) -> str:
    return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))


def test_it_opens_its_report_without_a_devices_key(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str
) -> None:
    told, page, paper = share(client, set_up)
    assert told["lan"] is False
    reader = phone()
    shown = reader.get(page)
    assert (shown.status_code, shown.mimetype) == (200, "text/html")
    assert "Made Up" in shown.text
    assert re.search(r"<footer>.*Made on \d+ \w+ \d{4}", shown.text), "as of when"
    printed = reader.get(paper)
    assert (printed.status_code, printed.mimetype) == (200, "application/pdf")
    assert "Made Up" in words_of(printed.data)
    assert reader.head(page).status_code == 200
    for answer in (shown, printed):
        assert answer.headers["Cache-Control"] == "no-store"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "Set-Cookie" not in answer.headers


def test_its_page_runs_nothing_and_is_no_page_of_the_journal(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str
) -> None:
    _, page, _ = share(client, set_up)
    shown = phone().get(page)
    parts = [part.strip().partition(" ") for part in shown.headers["Content-Security-Policy"].split(";")]
    policy = {name: words for name, _, words in parts}
    assert (policy["default-src"], policy["sandbox"], policy["frame-ancestors"]) == ("'none'", "", "'none'")
    assert not {"script-src", "connect-src", "form-src"} & set(policy)
    assert b"<script" not in shown.data
    assert not re.search(rb"""(src|href|action)=["'](?!data:)""", shown.data), "nothing is loaded, nothing leads on"


@pytest.mark.parametrize("place", [False, True])
def test_it_carries_no_gps_and_the_site_only_where_the_owner_said_so(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str, place: bool
) -> None:
    told, page, paper = share(client, set_up, place=place)
    assert told["made"]["details"]["place"] is place
    reader = phone()
    shown, printed = reader.get(page), reader.get(paper)
    assert ("Behind the old mill" in shown.text) is place
    assert ("Behind the old mill" in words_of(printed.data)) is place
    for content in (shown.data, printed.data):
        assert b"Exif" not in content
        assert b"GPS" not in content
    pictures = re.findall(r'src="data:image/jpeg;base64,([^"]+)"', shown.text)
    assert pictures, "with a photo that knew its place"
    assert not any(Image.open(io.BytesIO(base64.b64decode(one))).getexif() for one in pictures)


def test_the_key_opens_nothing_else_and_no_other_key_opens_it(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str
) -> None:
    told, page, _ = share(client, set_up)
    key = page.split("key=")[1]
    calendar = client.post("/api/calendar-addresses", json={"trial_id": set_up.trial_id, "name": "Tablet"})
    other_key = calendar.get_json()["urls"][0].split("key=")[1]
    reader = phone()
    for path in (
        f"/api/changes?key={key}", f"/api/reports/trial?trial={set_up.trial_id}&key={key}",
        f"/api/report-links?key={key}",
        f"/api/calendar.ics?trial={set_up.trial_id}&key={key}", f"/api/home?key={key}", "/api/shared-report",
        f"/api/shared-report?key={other_key}", f"/api/shared-report?key={key}x", "/api/shared-report?key=",
        f"/api/shared-report?key={'x' * 10_000}",
    ):  # fmt: skip
        answer = reader.get(path)
        assert (answer.status_code, answer.get_json()["error"]["kind"]) == (401, "NotPaired"), path
    for method in ("POST", "PUT", "PATCH", "DELETE"):
        assert reader.open(page, method=method).status_code == 401, method
    link = told["made"]["id"]
    assert reader.delete(f"/api/report-links/{link}?key={key}").status_code == 401
    assert reader.get(page).status_code == 200


def test_one_shows_its_own_report_only(client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str) -> None:
    other = set_up.make("trial", title="Secret seedlings", year=2026)
    _, first, _ = share(client, set_up)
    _, second, _ = share(client, set_up, trial_id=other, report="order-list")
    reader = phone()
    assert "Secret seedlings" not in reader.get(f"{first}&trial={other}").text
    assert "Made Up" not in reader.get(second).text


def test_it_is_closed_at_once_and_its_copies_are_gone(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str, journal: Journal
) -> None:
    told, page, paper = share(client, set_up)
    link = told["made"]["id"]
    reader = phone()
    assert client.get("/api/report-links").get_json()["links"][0]["last_used_at"] is None
    assert reader.get(page).status_code == 200
    listed = client.get("/api/report-links").get_json()["links"]
    assert [(one["name"], one["last_used_at"] is not None, one["revoked_at"]) for one in listed] == [
        ("The neighbour", True, None)
    ]
    assert not {"key", "key_hash"} & set(listed[0])
    assert client.delete(f"/api/report-links/{link}").get_json()["links"][0]["revoked_at"]
    for path in (page, paper):
        assert reader.get(path).status_code == 401
    with journal.database.reading() as session:
        assert load_report_copy(session, link, "html") is None
    assert client.post(f"/api/report-links/{link}").status_code == 422
    assert client.delete("/api/report-links/nothing").status_code == 404


def test_who_opens_a_closed_one_in_a_browser_reads_a_sentence(phone: Phones) -> None:
    answer = phone().get("/api/shared-report?key=old", headers={"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"})
    assert (answer.status_code, answer.mimetype) == (401, "text/plain")
    assert answer.text.startswith("This report is not open here, or not any more.")


def test_after_its_last_day_it_is_closed(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str, journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    today = journal.today()
    _, page, _ = share(client, set_up, last_day=today.isoformat())
    reader = phone()
    assert reader.get(page).status_code == 200
    monkeypatch.setattr(Journal, "today", lambda self: today + timedelta(days=1))
    assert reader.get(page).status_code == 401
    (listed,) = client.get("/api/report-links").get_json()["links"]
    assert (listed["over"], listed["last_day"]) == (True, today.isoformat())
    assert client.post(f"/api/report-links/{listed['id']}").status_code == 422
    share(client, set_up)
    with journal.database.reading() as session:
        assert load_report_copy(session, listed["id"], "html") is None, "the copies of ended ones are let go"


def test_it_stays_as_it_was_shared_until_the_owner_renews_it(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    told, page, paper = share(client, set_up)
    reader = phone()
    before = reader.get(page).data, reader.get(paper).data
    set_up.edit("trial", set_up.trial_id, title="Balcony")
    monkeypatch.setattr(Journal, "today", lambda self: date(2031, 5, 4))
    assert (reader.get(page).data, reader.get(paper).data) == before
    renewed = client.post(f"/api/report-links/{told['made']['id']}").get_json()["links"][0]
    assert renewed["details"]["made_on"] == "2031-05-04"
    shown = reader.get(page).text
    assert "Balcony" in shown
    assert "Made on 4 May 2031" in shown
    assert "Balcony" in words_of(reader.get(paper).data)


def test_only_the_owner_shares_and_closes(
    client: FlaskClient, phone: Phones, set_up: SetUp, cultivar: str, journal: Journal
) -> None:
    told, _, _ = share(client, set_up)
    path = f"/api/report-links/{told['made']['id']}"
    body = {"report": "trial", "trial_id": set_up.trial_id, "name": "Mine"}
    for role, status in ((READER, 403), (HELPER, 403), (OWNER, 200)):
        device = phone()
        paired(journal, device, role)
        assert device.get("/api/report-links").status_code == status
        assert device.post("/api/report-links", json=body).status_code == (201 if role == OWNER else 403)
        assert device.post(path).status_code == status
        assert device.delete(path).status_code == status


def test_on_the_network_it_has_the_networks_addresses(phone: Phones, set_up: SetUp, journal: Journal) -> None:
    owner = phone()
    paired(journal, owner, OWNER)
    told, page, _ = share(owner, set_up, report="order-list")
    assert told["lan"] is True
    assert [url.split("?")[0] for url in told["urls"]["html"]] == [
        "https://192.168.1.20:8766/api/shared-report", "https://garden.local:8766/api/shared-report",
    ]  # fmt: skip
    assert phone().get(page).status_code == 200


def test_whoever_tries_many_keys_is_not_listened_to(client: FlaskClient, phone: Phones, set_up: SetUp) -> None:
    _, page, _ = share(client, set_up, report="order-list")
    guesser, elsewhere = phone(), {"REMOTE_ADDR": "192.168.1.77"}
    seen = [guesser.get(f"/api/shared-report?key={guess}").status_code for guess in range(22)]
    assert seen == [401] * 20 + [429] * 2
    assert guesser.get(page).status_code == 429, "nor with the right one, so that a hit is not told"
    assert phone().get(page, environ_overrides=elsewhere).status_code == 200


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"name": " "}, "name"), ({"last_day": "2020-01-01"}, "last_day"), ({"last_day": "soon"}, "last_day"),
        ({"last_day": 7}, "last_day"), ({"report": "diary"}, "report"), ({"report": None}, "report"),
        ({"trial_id": 5}, "trial_id"), ({"place": "yes"}, "place"), ({"paper": "a3"}, "paper"),
        ({"report": "cultivar"}, "cultivar"), ({"report": "cultivar", "cultivar": 3}, "cultivar"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_refused_at_its_field(
    client: FlaskClient, set_up: SetUp, wrong: dict[str, Any], field: str
) -> None:
    body = {"report": "trial", "trial_id": set_up.trial_id, "name": "The neighbour"} | wrong
    answer = client.post("/api/report-links", json=body)
    assert (answer.status_code, answer.get_json()["error"]["field"]) == (422, field)
    assert client.get("/api/report-links").get_json()["links"] == []


@pytest.mark.parametrize("wrong", [{"name": ""}, {"last_day": "2020-01-01"}, {"last_day": "soon"}])
def test_what_is_wrong_is_said_before_the_report_is_made(
    client: FlaskClient, set_up: SetUp, monkeypatch: pytest.MonkeyPatch, wrong: dict[str, str]
) -> None:
    monkeypatch.setattr(report_links, "make_report", lambda *given: pytest.fail("a report was made"))
    asked = {"report": "trial", "trial_id": set_up.trial_id, "name": "The neighbour"} | wrong
    assert client.post("/api/report-links", json=asked).status_code == 422


def test_there_are_only_so_many(client: FlaskClient, set_up: SetUp) -> None:
    told = [share(client, set_up, report="order-list")[0] for _ in range(MOST_OPEN)]
    body = {"report": "order-list", "trial_id": set_up.trial_id, "name": "One more"}
    refused = client.post("/api/report-links", json=body)
    assert (refused.status_code, "Close one" in refused.get_json()["error"]["message"]) == (422, True)
    client.delete(f"/api/report-links/{told[0]['made']['id']}")
    assert client.post("/api/report-links", json=body).status_code == 201
