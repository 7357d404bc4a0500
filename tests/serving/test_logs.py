"""What is written down: a line a request, problems by kind and place, and nothing private in either form."""

from __future__ import annotations

import contextlib
import json
import logging
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator

import pytest
from api.test_report_links import cultivar, share
from conftest import SetUp
from flask import Flask
from flask.testing import FlaskClient
from made_photos import jpeg

from journal_server.app import create_app
from journal_server.services.journal import Journal
from journal_server.serving.logs import FORMS, JSON, PLAIN, REQUESTS, JsonLines, LoggedRequests, PlainLines, begin_logs
from journal_server.serving.server import listen

__all__ = ["cultivar"]

HERE = "127.0.0.1"
Logged = Callable[[], str]


@pytest.fixture
def logged(capsys: pytest.CaptureFixture[str]) -> Iterator[Logged]:
    """Reads what stands on standard error so far; logging is as before afterwards."""
    levels = [(logger, logger.level) for logger in (logging.getLogger(), REQUESTS)]
    said: list[str] = []

    def read() -> str:
        said.append(capsys.readouterr().err)
        return "".join(said)

    yield read
    for handler in logging.getLogger().handlers[:]:
        if isinstance(handler.formatter, JsonLines | PlainLines):
            logging.getLogger().removeHandler(handler)
    for logger, level in levels:
        logger.setLevel(level)


@contextlib.contextmanager
def served(app: Flask) -> Iterator[str]:
    server = listen(app, HERE, 0)
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        yield f"http://{HERE}:{server.port}"
    finally:
        server.stop()
        thread.join()


def ask(url: str, data: bytes | None = None, **headers: str) -> tuple[int, bytes]:
    try:
        with urllib.request.urlopen(urllib.request.Request(url, data, headers)) as answer:
            return answer.status, answer.read()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read()


def test_a_request_is_a_line_with_the_pattern_of_its_address(journal: Journal, logged: Logged) -> None:
    begin_logs(JSON)
    with served(create_app(journal)) as address:
        status, body = ask(f"{address}/api/photos/5f0c8a52-0d6e-4a52-9f0f-aa11bb22cc33/picture?size=secret")
        ask(f"{address}/api/no-such-thing")
        ask(f"{address}/index.html")
    lines = [json.loads(line) for line in logged().splitlines()]
    assert status in (404, 422)
    assert lines[0].items() >= {
        "level": "info", "says": "request", "method": "GET", "route": "/api/photos/<photo_id>/picture",
        "status": status, "bytes": len(body),
    }.items()  # fmt: skip
    assert 0 <= lines[0]["ms"] < 10_000
    assert [line["route"] for line in lines[1:]] == ["/<path:name>", "/<path:name>"]
    assert "5f0c8a52" not in logged()
    assert "no-such-thing" not in logged()


def test_in_plain_words_it_is_one_line_too(journal: Journal, logged: Logged) -> None:
    begin_logs(PLAIN)
    with served(create_app(journal)) as address:
        ask(f"{address}/api/health")
    (line,) = logged().splitlines()
    assert " info request method=GET route=/api/health status=200 ms=" in line


def test_unless_asked_for_only_problems_are_told(journal: Journal, logged: Logged) -> None:
    begin_logs(None)
    with served(create_app(journal)) as address:
        ask(f"{address}/api/health")
    assert logged() == ""


@pytest.mark.parametrize("form", FORMS)
def test_an_unexpected_error_has_an_id_its_kind_and_its_place_but_not_its_words(
    journal: Journal, logged: Logged, form: str
) -> None:
    app = create_app(journal)

    def breaks() -> str:
        raise ValueError("the gate code is 4711")

    app.add_url_rule("/api/breaks", view_func=breaks)
    begin_logs(form)
    with served(app) as address:
        status, body = ask(f"{address}/api/breaks")
    message = json.loads(body)["error"]["message"]
    assert status == 500
    error_id = message.rpartition("(Error ")[2].rstrip(")")
    said = logged()
    assert len(error_id) == 8
    assert error_id in said
    assert "ValueError" in said
    assert "serving/test_logs.py" in said
    assert "breaks" in said
    assert "4711" not in said + message


def test_what_is_sent_is_counted_and_a_broken_off_answer_is_told(logged: Logged) -> None:
    begin_logs(JSON)

    def pieces(environ: object, start_response: object) -> Iterator[bytes]:
        start_response("200 OK", [])  # type: ignore[operator]
        yield b"12345"
        yield b"678"

    answer = LoggedRequests(pieces)({"REQUEST_METHOD": "secret words"}, lambda *given: lambda data: None)
    next(iter(answer))
    answer.close()  # type: ignore[attr-defined]
    told = json.loads(logged())
    assert (told["method"], told["route"], told["status"], told["bytes"]) == ("(other)", "(other)", 200, 5)


@pytest.mark.parametrize("form", FORMS)
def test_nothing_private_is_written_down_during_a_whole_session(
    client: FlaskClient, set_up: SetUp, cultivar: str, journal: Journal, logged: Logged, form: str
) -> None:
    """Names, places, keys, codes, ids, file names: sent in bodies, addresses and headers, rightly and wrongly."""
    begin_logs(form)
    _, page, paper = share(client, set_up, name="Ottilie Reader")
    key = page.partition("key=")[2]
    photo = jpeg("2026:06:12 10:14:03", seed=4)
    body = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="OttiliesGarden.jpg"\r\n\r\n' + photo
    with served(create_app(journal)) as address:
        asked = [
            ask(address + page)[0],
            ask(address + paper)[0],
            ask(f"{address}/api/shared-report?key=wrong{key}")[0],
            ask(
                f"{address}/api/photos",
                body + b"\r\n--x--\r\n",
                **{"Content-Type": "multipart/form-data; boundary=x", "Cookie": "journal_key=cookie-secret-5"},
            )[0],
            ask(
                f"{address}/api/changes",
                json.dumps(
                    {"changes": [{"kind": "trial", "id": set_up.trial_id, "fields": {"site": "Behind Ottilie's"}}]}
                ).encode(),
                **{"Content-Type": "application/json", "User-Agent": "Agent Ottilie"},
            )[0],
            ask(f"{address}/api/changes", b"{Ottilie", **{"Content-Type": "application/json"})[0],
            ask(f"{address}/api/reports/trial?trial={set_up.trial_id}&paper=Ottilie")[0],
            ask(f"{address}/api/pair", b'{"code": "ABCD1234"}', **{"Content-Type": "application/json"})[0],
            ask(f"{address}/Ottilie.html")[0],
            ask(f"{address}/api/home", Host="ottilie.example")[0],
        ]
    assert asked == [200, 200, 401, 201, 200, 422, 422, 422, 404, 403]
    said = logged()
    assert len(said.splitlines()) == len(asked)
    secrets = (key, set_up.trial_id, "ttilie", "cookie-secret-5", "ABCD1234", "old mill", HERE, str(journal.folder))
    for secret in secrets:
        assert secret not in said, secret
