"""`serve --lan` as a person runs it: a real process, what its terminal says, and who gets in where."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import zxingcpp
from made_certificate import own_certificate
from PIL import Image, ImageDraw

from journal_server.cli import main
from journal_server.errors import InputRefused
from journal_server.services.journal import open_journal
from journal_server.services.lan_door import LanDoor
from journal_server.services.pairing import PairingCode
from journal_server.serving import hosts
from journal_server.serving.lan import LanOptions, announcement, open_lan, qr_code
from journal_server.serving.trust_page import create_trust_page

HERE = "127.0.0.1"


@dataclass
class Running:
    process: subprocess.Popen[str]
    said: str
    data: Path

    def port(self, pattern: str) -> int:
        found = re.search(pattern, self.said)
        assert found, self.said
        return int(found[1])

    def stop(self) -> tuple[int, str]:
        self.process.send_signal(signal.SIGINT)
        out, _ = self.process.communicate(timeout=30)
        return self.process.returncode, self.said + out


@contextlib.contextmanager
def running(data: Path, *options: str, stdout: int = subprocess.PIPE) -> Iterator[Running]:
    call = [sys.executable, "-m", "journal_server", "serve", "--lan", "--no-browser", "--port", "0"]
    call += ["--address", HERE, "--data", str(data), *options]
    process = subprocess.Popen(call, stdout=stdout, stderr=subprocess.STDOUT, text=True)
    try:
        said = "" if process.stdout is None else "".join(iter_until(process.stdout, "More codes"))
        yield Running(process, said, data)
    finally:
        process.kill()
        process.communicate()


def iter_until(lines: Iterator[str], last: str) -> Iterator[str]:
    for line in lines:
        yield line
        if line.startswith(last):
            return


def trusting(data: Path) -> ssl.SSLContext:
    pem = (data / "certificates" / "authority.pem").read_text()
    return ssl.create_default_context(cadata=pem[pem.index("-----BEGIN CERTIFICATE") :])


def ask(connection: http.client.HTTPConnection, path: str, body: object = None, **headers: str) -> tuple[int, object]:
    with contextlib.closing(connection):
        if body is None:
            connection.request("GET", path, headers=headers)
        else:
            headers["Content-Type"] = "application/json"
            connection.request("POST", path, json.dumps(body), headers)
        answer = connection.getresponse()
        content = answer.read()
        if "set-cookie" in answer.headers:
            return answer.status, answer.headers["set-cookie"].split(";")[0]
        return answer.status, json.loads(content) if answer.headers["content-type"] == "application/json" else content


def test_the_three_listeners_and_a_phone_from_trust_to_revoked(tmp_path: Path) -> None:
    with running(tmp_path / "data") as serving:
        own = serving.port(r"The journal is at http://127\.0\.0\.1:(\d+)/")
        lan = serving.port(r"https://127\.0\.0\.1:(\d+)/")
        trust = serving.port(r"trust the journal: scan this, or type http://127\.0\.0\.1:(\d+)/")
        context = trusting(serving.data)

        def phone(path: str, body: object = None, **headers: str) -> tuple[int, object]:
            connection = http.client.HTTPSConnection(HERE, lan, timeout=20, context=context)
            return ask(connection, path, body, **headers)

        def computer(path: str, body: object = None) -> tuple[int, object]:
            return ask(http.client.HTTPConnection(HERE, own, timeout=20), path, body)

        assert phone("/api/changes")[0] == 401
        status, made = computer("/api/devices", {"role": "helper"})
        assert status == 201
        code = made["code"]  # type: ignore[index]
        status, cookie = phone("/api/pair", {"code": code, "device_name": "Phone"})
        assert status == 201
        key = str(cookie).partition("=")[2]
        assert phone("/api/changes", Cookie=str(cookie))[0] == 200
        device = computer("/api/devices")[1]["devices"][0]  # type: ignore[index]
        assert (device["name"], device["role"]) == ("Phone", "helper")
        connection = http.client.HTTPConnection(HERE, own, timeout=20)
        with contextlib.closing(connection):
            connection.request("DELETE", f"/api/devices/{device['id']}")
            assert connection.getresponse().status == 200
        assert phone("/api/changes", Cookie=str(cookie))[0] == 401
        for path, wanted in (("/", 200), ("/planting-trial-journal.crt", 200), ("/api/me", 404), ("/app.js", 404)):
            assert ask(http.client.HTTPConnection(HERE, trust, timeout=20), path)[0] == wanted, path
        status, said = serving.stop()
    assert status == 0
    assert "everything is kept" in said
    assert "Pairing code" not in said, "this is not a terminal, so it may be a log"
    for secret in (key, code, f"{code[:4]} {code[4:]}"):
        assert secret not in said


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such terminals on Windows")
def test_a_terminal_shows_a_pairing_code_that_works(tmp_path: Path) -> None:
    ours, theirs = os.openpty()
    with os.fdopen(ours, "rb", buffering=0) as terminal, running(tmp_path / "data", stdout=theirs) as serving:
        os.close(theirs)
        said = b""
        while b"More codes" not in said:
            said += terminal.read(4096)
        words = said.decode()
        code = re.search(r"Pairing code: ([A-Z0-9]{4} [A-Z0-9]{4})   \(lets one device in as owner", words)
        port = re.search(r"https://127\.0\.0\.1:(\d+)/", words)
        assert code
        assert port
        context = trusting(serving.data)
        connection = http.client.HTTPSConnection(HERE, int(port[1]), timeout=20, context=context)
        assert ask(connection, "/api/pair", {"code": code[1], "device_name": "Phone"})[0] == 201
        serving.process.send_signal(signal.SIGTERM)
        assert serving.process.wait(30) == 0, "the system's request to end is as good as Ctrl-C"


def test_plain_http_is_keyed_too_and_says_who_can_read_it(tmp_path: Path) -> None:
    with running(tmp_path / "data", "--plain-http") as serving:
        assert "anyone in this network can read" in serving.said
        port = serving.port(r"type http://127\.0\.0\.1:(\d+)/")
        assert ask(http.client.HTTPConnection(HERE, port, timeout=20), "/api/home")[0] == 401
        assert ask(http.client.HTTPConnection(HERE, port, timeout=20), "/")[0] == 200
        assert not (serving.data / "certificates").exists()


def test_a_certificate_of_ones_own_needs_no_page_about_trust(tmp_path: Path) -> None:
    now = datetime.now(UTC)
    files = own_certificate(tmp_path, names=["localhost", HERE], begins=now, ends=now + timedelta(days=90))
    chain, key = map(str, files)
    with running(tmp_path / "data", "--cert", chain, "--key", key) as serving:
        assert "trust" not in serving.said
        assert "fingerprint" not in serving.said
        port = serving.port(r"https://127\.0\.0\.1:(\d+)/")
        context = ssl.create_default_context(cafile=chain)
        assert ask(http.client.HTTPSConnection(HERE, port, timeout=20, context=context), "/api/me")[0] == 200


def test_pair_prints_a_code_for_a_server_without_a_screen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    open_journal(tmp_path).close()
    assert main(["pair", "--role", "reader", "--data", str(tmp_path)]) == 0
    assert re.match(r"Pairing code: \w{4} \w{4}   \(lets one device in as reader", capsys.readouterr().out)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--cert", "{tmp}/none.pem"], "--cert and --key go together"),
        (["--cert", "{tmp}/none.pem", "--key", "{tmp}/none.key"], "none.pem cannot be read"),
        (["--cert", "{tmp}/a.pem", "--key", "{tmp}/a.key", "--plain-http"], "uses no certificate"),
        (["--address", "8.8.8.8"], "home networks and names in .local only"),
        (["--address", "example.org"], "home networks and names in .local only"),
        (["--address", "garden local!"], "neither an address nor a name"),
        (["--address", HERE, "--port", "65535"], "no port 65536"),
    ],
)
def test_what_cannot_be_served_says_why_and_exits_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    call = [option.replace("{tmp}", str(tmp_path)) for option in options]
    assert main(["serve", "--lan", "--no-browser", "--data", str(tmp_path / "data"), *call]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("option", [["--plain-http"], ["--address", HERE], ["--cert", "a"], ["--key", "a"]])
def test_options_for_other_devices_go_with_lan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], option: list[str]
) -> None:
    assert main(["serve", "--data", str(tmp_path), *option]) == 2
    assert "goes with --lan" in capsys.readouterr().err


def test_a_certificate_for_another_name_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    now = datetime.now(UTC)
    files = own_certificate(tmp_path, names=["*.example.org"], begins=now, ends=now + timedelta(days=90))
    chain, key = map(str, files)
    call = ["serve", "--lan", "--data", str(tmp_path / "data"), "--cert", chain, "--key", key]
    assert main([*call, "--address", "journal.example.com"]) == 2
    assert "The certificate is not for journal.example.com" in capsys.readouterr().err
    assert main(call) == 2
    assert "--address NAME" in capsys.readouterr().err


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_port_in_use_is_told_and_the_others_are_let_go(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], which: int
) -> None:
    port = three_free_ports()
    call = ["serve", "--lan", "--no-browser", "--address", HERE, "--data", str(tmp_path), "--port", str(port)]
    with socket.create_server((HERE, port + which)):
        assert main(call) == 2
    assert f"Port {port + which}" in capsys.readouterr().err
    for other in {0, 1, 2} - {which}:
        socket.create_server((HERE, port + other)).close()


def three_free_ports() -> int:
    for port in range(20_000, 60_000, 7):
        with contextlib.suppress(OSError), contextlib.ExitStack() as stack:
            for more in range(3):
                stack.enter_context(socket.create_server((HERE, port + more)))
            return port
    pytest.fail("no three ports in a row are free")


@pytest.mark.parametrize(
    ("found", "words"), [([], "not in any network"), (["192.0.2.7"], "192.0.2.7.*not those of a home network.*--cert")]
)
def test_without_an_address_for_phones_it_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, found: list[str], words: str
) -> None:
    monkeypatch.setattr("journal_server.serving.lan.machine_addresses", lambda: found)
    with pytest.raises(InputRefused, match=words):
        open_lan(tmp_path, LanOptions(), 0, lambda door: pytest.fail("nothing is opened"), print)


def test_the_addresses_of_this_machine_are_written_as_browsers_write_them() -> None:
    for address in hosts.machine_addresses():
        assert hosts.given_hosts([address]) == [address]
        assert not address.startswith(("127.", "::1", "fe80"))
    assert hosts.given_hosts(["[FD00::0:2]", " Garden.LOCAL "]) == ["fd00::2", "garden.local"]


def read_from_blocks(drawn: str) -> str:
    """The QR code as a phone would see it on the terminal, read by the reader of the cards."""
    rows = [line for line in drawn.splitlines() if line]
    size = 8
    picture = Image.new("L", (len(rows[0]) * size, len(rows) * 2 * size), 0)
    draw = ImageDraw.Draw(picture)
    for y, row in enumerate(rows):
        for x, block in enumerate(row):
            for half, lit in enumerate((block in "█▀", block in "█▄")):
                if lit:
                    left, top = x * size, (2 * y + half) * size
                    draw.rectangle((left, top, left + size - 1, top + size - 1), fill=255)
    return zxingcpp.read_barcodes(picture)[0].text


def test_the_terminal_shows_what_a_phone_needs() -> None:
    door = LanDoor("https", 8766, ["192.168.1.20", "garden.local"], trust_port=8767, authority=b"any bytes")
    said = announcement(door, PairingCode("ACDE3467", "owner", "2026-06-12T10:10:00+00:00"))
    assert "  https://192.168.1.20:8766/\n  https://garden.local:8766/" in said
    assert "Pairing code: ACDE 3467" in said
    assert max(len(line) for line in said.splitlines()) <= 110
    assert door.fingerprint is not None
    assert door.fingerprint[:47] in said
    assert door.fingerprint[48:] in said


def test_the_qr_code_on_the_terminal_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal:
        encoding = "utf-8"

    monkeypatch.setattr(sys, "stdout", Terminal())
    assert read_from_blocks(qr_code("http://192.168.1.20:8767/")) == "http://192.168.1.20:8767/"
    Terminal.encoding = "ascii"
    assert qr_code("http://192.168.1.20:8767/") == "", "better none than one in question marks"


def test_the_trust_page_shows_the_fingerprint_and_nothing_of_the_journal() -> None:
    door = LanDoor("https", 8766, ["192.168.1.20", "garden.local"], trust_port=8767, authority=b"any bytes")
    client = create_trust_page(door).test_client()
    page = client.get("/")
    assert page.status_code == 200
    assert door.fingerprint is not None
    for words in (
        door.fingerprint[:23],
        door.fingerprint[-23:],
        "iPhone",
        "Android",
        "https://192.168.1.20:8766/#/pair",
    ):
        assert words in page.text
    assert "<script" not in page.text
    assert "unsafe" not in page.headers["Content-Security-Policy"]
    certificate = client.get("/planting-trial-journal.crt")
    assert (certificate.mimetype, certificate.data) == ("application/x-x509-ca-cert", b"any bytes")
    assert client.get("/trust.css").mimetype == "text/css"
    for address in (
        "/api/home",
        "/index.html",
        "/app.js",
        "/pages/trust.html",
        "/../cli.py",
        "/trust.css/../../lan.py",
    ):
        assert client.get(address).status_code == 404
