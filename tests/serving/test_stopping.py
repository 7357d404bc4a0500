"""Ending a served journal by signals, as a person or a system does: what is sent arrives, nothing is left running."""

from __future__ import annotations

import contextlib
import json
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from made_photos import jpeg

from journal_server.services.journal import open_journal
from journal_server.storage.records import load_records


@contextlib.contextmanager
def serving(folder: Path) -> Iterator[tuple[subprocess.Popen[str], int]]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    call = [sys.executable, "-m", "journal_server", "serve", "--data", str(folder), "--port", str(port), "--no-browser"]
    process = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        assert "The journal is at" in process.stdout.readline()
        yield process, port
    finally:
        process.kill()
        process.communicate()


@contextlib.contextmanager
def half_sent(port: int, photo: bytes) -> Iterator[tuple[socket.socket, bytes]]:
    """A connection on which half of an upload has gone out, and the other half."""
    body = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n' + photo + b"\r\n--x--\r\n"
    head = (
        b"POST /api/photos HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: multipart/form-data; boundary=x\r\n"
        b"Content-Length: %d\r\n\r\n" % len(body)
    )
    with socket.create_connection(("127.0.0.1", port), timeout=30) as connection:
        connection.sendall(head + body[: len(body) // 2])
        time.sleep(0.5)
        yield connection, body[len(body) // 2 :]


def is_refused(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port), timeout=2).close()
    except OSError:
        return True
    return False


def photos_of(folder: Path) -> int:
    with contextlib.closing(open_journal(folder)) as journal, journal.database.reading() as session:
        return len(load_records(session, "photo"))


def children_of(pid: int) -> list[int]:
    found = Path(f"/proc/{pid}/task/{pid}/children")
    everywhere = [Path(task) / "children" for task in found.parent.parent.glob("*")]
    return [int(one) for path in everywhere for one in path.read_text().split()]


def is_running(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_an_upload_that_trickles_in_while_it_is_asked_to_end_is_taken_in(tmp_path: Path) -> None:
    with serving(tmp_path) as (process, port):
        with half_sent(port, jpeg("2026:06:12 10:14:03")) as (connection, rest):
            process.send_signal(signal.SIGTERM)
            pieces = [rest[at : at + len(rest) // 6 + 1] for at in range(0, len(rest), len(rest) // 6 + 1)]
            for piece in pieces:
                time.sleep(0.5)
                connection.sendall(piece)
            answer = connection.recv(65536)
        assert answer.startswith(b"HTTP/1.1 201")
        out, err = process.communicate(timeout=30)
    assert (process.returncode, err) == (0, "")
    assert "The journal is closed; everything is kept." in out
    assert photos_of(tmp_path) == 1


def test_while_it_ends_newcomers_are_refused_and_one_who_fell_silent_is_given_up(tmp_path: Path) -> None:
    with serving(tmp_path) as (process, port):
        with half_sent(port, jpeg("2026:06:12 10:14:03")) as _:
            begun = time.monotonic()
            process.send_signal(signal.SIGTERM)
            time.sleep(1.5)
            assert is_refused(port)
            process.wait(timeout=40)
        assert time.monotonic() - begun < 30
    assert process.returncode == 0
    assert photos_of(tmp_path) == 0
    assert not [path for path in (tmp_path / "originals").rglob("*") if path.is_file()], "nothing half written"


def test_asked_a_second_time_it_ends_at_once(tmp_path: Path) -> None:
    with serving(tmp_path) as (process, port), half_sent(port, jpeg("2026:06:12 10:14:03")):
        process.send_signal(signal.SIGTERM)
        time.sleep(0.7)
        assert process.poll() is None, "it waits for the upload"
        begun = time.monotonic()
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=5)
        assert time.monotonic() - begun < 1
    assert process.returncode == -signal.SIGTERM
    assert photos_of(tmp_path) == 0


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="tells the children by /proc")
@pytest.mark.parametrize("times", [1, 2])
def test_no_measuring_process_outlives_it(tmp_path: Path, times: int) -> None:
    with serving(tmp_path) as (process, port):
        with half_sent(port, jpeg("2026:06:12 10:14:03", size=(1600, 1200))) as (connection, rest):
            connection.sendall(rest)
            assert connection.recv(65536).startswith(b"HTTP/1.1 201")
        measuring: list[int] = []
        deadline = time.monotonic() + 30
        while not measuring and time.monotonic() < deadline:
            measuring = children_of(process.pid)
            time.sleep(0.05)
        assert measuring
        for _ in range(times):
            process.send_signal(signal.SIGTERM)
        process.wait(timeout=30)
        deadline = time.monotonic() + 30
        while any(map(is_running, measuring)) and time.monotonic() < deadline:
            time.sleep(0.1)
        assert not any(map(is_running, measuring))


def test_it_stays_alive_for_what_watches_it(tmp_path: Path) -> None:
    with serving(tmp_path) as (_, port), urllib.request.urlopen(f"http://127.0.0.1:{port}/api/health") as answer:
        assert json.load(answer) == {"status": "alive"}
