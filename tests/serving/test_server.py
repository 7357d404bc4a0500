"""The server over real sockets: TLS, silent callers, a slow one, and a stop while something is being sent."""

from __future__ import annotations

import contextlib
import http.client
import json
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask, request
from made_photos import jpeg

from journal_server.app import create_app
from journal_server.services.certificates import Certificate, home_certificate
from journal_server.services.journal import Journal
from journal_server.services.lan_door import LanDoor
from journal_server.services.pairing import make_pairing_code
from journal_server.serving.keeper import CertificateInUse, Keeper
from journal_server.serving.serve import stop_all
from journal_server.serving.server import JournalServer, listen

HERE = "127.0.0.1"


@pytest.fixture
def certificate(tmp_path: Path) -> Certificate:
    return home_certificate(tmp_path / "certificates", ["garden.local"], datetime.now(UTC))


def trusting(certificate: Certificate) -> ssl.SSLContext:
    assert certificate.authority is not None
    return ssl.create_default_context(cadata=certificate.authority)


@contextlib.contextmanager
def served(app: Flask, certificate: Certificate | None) -> Iterator[JournalServer]:
    server = listen(app, HERE, 0, certificate)
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        yield server
    finally:
        server.stop()
        thread.join()


@pytest.fixture
def https(journal: Journal, certificate: Certificate) -> Iterator[JournalServer]:
    door = LanDoor("https", 0, [HERE], authority=certificate.authority, names=list(certificate.names))
    with served(create_app(journal, door=door, keyed=True), certificate) as server:
        yield server


@contextlib.contextmanager
def speaking_tls(server: JournalServer, context: ssl.SSLContext, name: str = HERE) -> Iterator[ssl.SSLSocket]:
    plain = socket.create_connection((HERE, server.port), timeout=20)
    with plain, context.wrap_socket(plain, server_hostname=name) as spoken:
        yield spoken


def ask(server: JournalServer, certificate: Certificate, path: str = "/api/me") -> tuple[int, bytes]:
    connection = http.client.HTTPSConnection(HERE, server.port, timeout=10, context=trusting(certificate))
    with contextlib.closing(connection):
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.read()


def test_a_phone_that_trusts_the_authority_is_answered(https: JournalServer, certificate: Certificate) -> None:
    status, body = ask(https, certificate)
    assert (status, json.loads(body)["paired"]) == (200, False)
    assert ask(https, certificate, "/api/home")[0] == 401
    assert ask(https, certificate, "/")[0] == 200


def test_one_that_does_not_is_warned(https: JournalServer) -> None:
    connection = http.client.HTTPSConnection(HERE, https.port, timeout=10, context=ssl.create_default_context())
    with contextlib.closing(connection), pytest.raises(ssl.SSLCertVerificationError):
        connection.request("GET", "/api/me")


def test_a_phone_pairs_and_works_over_https(https: JournalServer, journal: Journal, certificate: Certificate) -> None:
    code = make_pairing_code(journal, "owner", datetime.now(UTC)).code
    connection = http.client.HTTPSConnection(HERE, https.port, timeout=10, context=trusting(certificate))
    with contextlib.closing(connection):
        words = json.dumps({"code": code, "device_name": "Phone"})
        connection.request("POST", "/api/pair", words, {"Content-Type": "application/json"})
        paired = connection.getresponse()
        paired.read()
        cookie = paired.headers["Set-Cookie"]
        assert "; Secure;" in cookie
        connection.request("GET", "/api/home", headers={"Cookie": cookie.split(";")[0]})
        home = connection.getresponse()
        assert (home.status, "measuring" in json.load(home)) == (200, True)


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3])
def test_tls_of_today_is_spoken(https: JournalServer, certificate: Certificate, version: ssl.TLSVersion) -> None:
    context = trusting(certificate)
    context.minimum_version = context.maximum_version = version
    with speaking_tls(https, context, "garden.local") as spoken:
        assert spoken.version() == version.name.replace("_", ".")


def test_older_tls_is_not_offered(https: JournalServer) -> None:
    assert https.tls is not None
    assert https.tls.context.minimum_version == ssl.TLSVersion.TLSv1_2


def test_plain_http_is_told_to_speak_https(https: JournalServer) -> None:
    with contextlib.closing(http.client.HTTPConnection(HERE, https.port, timeout=10)) as connection:
        connection.request("GET", "/")
        answer = connection.getresponse()
        assert answer.status == 400
        assert b"https://" in answer.read()


def half_a_hello(certificate: Certificate) -> bytes:
    incoming, outgoing = ssl.MemoryBIO(), ssl.MemoryBIO()
    speaking = trusting(certificate).wrap_bio(incoming, outgoing, server_hostname=HERE)
    with contextlib.suppress(ssl.SSLWantReadError):
        speaking.do_handshake()
    hello = outgoing.read()
    return hello[: len(hello) // 2]


@pytest.mark.parametrize("says", ["nothing", "half a hello", "nonsense"])
def test_two_hundred_silent_callers_keep_no_one_waiting(
    https: JournalServer, certificate: Certificate, says: str
) -> None:
    said = {"nothing": b"", "half a hello": half_a_hello(certificate), "nonsense": b"\x16\x03\x01\xff"}[says]
    with contextlib.ExitStack() as stack:
        for _ in range(200):
            silent = stack.enter_context(socket.create_connection((HERE, https.port), timeout=10))
            silent.sendall(said)
        begun = time.monotonic()
        for _ in range(20):
            assert ask(https, certificate)[0] == 200
        # Stock cheroot waits ten seconds for the first of them; twenty answers here take well under one.
        assert time.monotonic() - begun < 5


def test_two_hundred_at_once_are_all_answered(https: JournalServer, certificate: Certificate) -> None:
    answers: list[int] = []
    context = trusting(certificate)

    def one() -> None:
        connection = http.client.HTTPSConnection(HERE, https.port, timeout=60, context=context)
        with contextlib.closing(connection):
            connection.request("GET", "/api/me")
            answers.append(connection.getresponse().status)

    threads = [threading.Thread(target=one) for _ in range(200)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [200] * 200


def test_more_idle_callers_than_the_system_bears_are_let_go(certificate: Certificate) -> None:
    app = Flask("app")
    app.add_url_rule("/api/me", view_func=lambda: "here")
    with served(app, certificate) as server, contextlib.ExitStack() as stack:
        server.keep_alive_conn_limit = 50
        for _ in range(70):
            stack.enter_context(socket.create_connection((HERE, server.port), timeout=10))
        deadline = time.monotonic() + 30
        while time.monotonic() < deadline:  # the silent ones are let go after ten seconds, then there is room again
            with contextlib.suppress(OSError, http.client.HTTPException):
                if ask(server, certificate)[0] == 200:
                    return
            time.sleep(0.5)
    pytest.fail("the server did not come back")


def test_a_request_that_arrives_in_pieces_is_answered(https: JournalServer, certificate: Certificate) -> None:
    with speaking_tls(https, trusting(certificate)) as spoken:
        time.sleep(0.3)
        for piece in (b"GET /api/me HT", b"TP/1.1\r\nHost: 127.0.0.1\r\n", b"\r\n"):
            spoken.sendall(piece)
            time.sleep(0.1)
        assert spoken.recv(12) == b"HTTP/1.1 200"


def test_two_requests_in_one_breath_are_both_answered(https: JournalServer, certificate: Certificate) -> None:
    asked = b"GET /api/me HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
    with speaking_tls(https, trusting(certificate)) as spoken:
        spoken.sendall(asked + asked)
        read = b""
        while read.count(b"HTTP/1.1 200") < 2:
            more = spoken.recv(65536)
            assert more, "closed too early"
            read += more


def upload_in_two_halves(
    server: JournalServer, photo: bytes, certificate: Certificate | None, between: threading.Event
) -> bytes:
    """Sends half, says so, waits until told to go on, sends the rest; returns the answer's first line."""
    head = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'
    body = head + photo + b"\r\n--x--\r\n"
    asked = (
        b"POST /api/photos HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: multipart/form-data; boundary=x\r\n"
        b"Content-Length: %d\r\n\r\n" % len(body)
    )
    with socket.create_connection((HERE, server.port), timeout=20) as plain, contextlib.ExitStack() as stack:
        spoken = plain
        if certificate:
            spoken = stack.enter_context(trusting(certificate).wrap_socket(plain, server_hostname=HERE))
        spoken.sendall(asked + body[: len(body) // 2])
        assert between.wait(20)
        time.sleep(0.5)
        spoken.sendall(body[len(body) // 2 :])
        return spoken.recv(65536).split(b"\r\n")[0]


@pytest.mark.parametrize("secure", [True, False], ids=["https", "http"])
def test_what_is_being_sent_while_it_stops_is_taken_in(
    journal: Journal, certificate: Certificate, secure: bool
) -> None:
    shown = certificate if secure else None
    server = listen(create_app(journal), HERE, 0, shown)
    serving = threading.Thread(target=server.serve)
    serving.start()
    stopping = threading.Event()
    first_line: list[bytes] = []
    photo = jpeg("2026:06:12 10:14:03")
    sending = threading.Thread(
        target=lambda: first_line.append(upload_in_two_halves(server, photo, shown, stopping)), daemon=True
    )
    silent = socket.create_connection((HERE, server.port))
    sending.start()
    time.sleep(1)  # so that half of it has arrived
    stopping.set()
    begun = time.monotonic()
    stop_all([server])
    assert time.monotonic() - begun < 15, "a silent caller is not waited for"
    silent.close()
    sending.join()
    serving.join()
    assert first_line == [b"HTTP/1.1 201 CREATED"]
    with pytest.raises(OSError):
        socket.create_connection((HERE, server.port), timeout=2)


def test_the_certificate_is_replaced_while_it_serves(tmp_path: Path, certificate: Certificate) -> None:
    app = Flask("app")
    app.add_url_rule("/api/me", view_func=lambda: request.scheme)
    door = LanDoor("https", 0, ["garden.local"], authority=certificate.authority, names=list(certificate.names))
    hosts = ["garden.local"]
    told: list[str] = []
    with served(app, certificate) as server:
        assert server.tls is not None

        def certificate_for(wanted: object) -> Certificate:
            return home_certificate(tmp_path / "certificates", hosts, datetime.now(UTC))

        in_use = CertificateInUse(certificate, server.tls, certificate_for)
        keeper = Keeper(door, lambda: hosts, told.append, in_use)
        keeper.look()
        assert told == [], "nothing to do"
        assert shown_names(server, certificate).isdisjoint({"10.0.0.7"})
        hosts = ["10.0.0.7", "garden.local"]
        keeper.look()
        assert "10.0.0.7" in shown_names(server, certificate)
        assert ask(server, certificate) == (200, b"https")
        assert door.answers_to("10.0.0.7")
        assert door.addresses()[0].startswith("https://10.0.0.7:")
        assert len(told) == 2
        assert "renewed" in told[0]
        assert "10.0.0.7" in told[1]


def shown_names(server: JournalServer, certificate: Certificate) -> set[str]:
    with speaking_tls(server, trusting(certificate)) as spoken:
        shown = spoken.getpeercert()
    assert shown is not None
    return {str(value) for _, value in shown["subjectAltName"]}


def test_when_it_cannot_be_renewed_it_goes_on_and_says_so_once(tmp_path: Path, certificate: Certificate) -> None:
    (tmp_path / "certificates" / "authority.pem").write_bytes(b"broken")
    door = LanDoor("https", 0, ["garden.local"], names=["garden.local"])
    told: list[str] = []
    with served(Flask("app"), certificate) as server:
        assert server.tls is not None

        def certificate_for(hosts: object) -> Certificate:
            return home_certificate(tmp_path / "certificates", ["10.0.0.7"], datetime.now(UTC))

        in_use = CertificateInUse(certificate, server.tls, certificate_for)
        keeper = Keeper(door, lambda: ["10.0.0.7"], told.append, in_use)
        keeper.look()
        keeper.look()
        assert ask(server, certificate, "/nothing")[0] == 404
    assert len(told) == 1
    assert "could not be renewed: The journal's certificate authority" in told[0]


def test_over_plain_http_a_new_address_is_answered_too() -> None:
    door = LanDoor("http", 8766, ["10.0.0.7"], names=["10.0.0.7"])
    told: list[str] = []
    Keeper(door, lambda: ["10.0.0.8"], told.append).look()
    assert door.answers_to("10.0.0.8")
    assert not door.answers_to("10.0.0.7")
    assert told == ["This computer's addresses have changed. Phones find it at http://10.0.0.8:8766/"]
