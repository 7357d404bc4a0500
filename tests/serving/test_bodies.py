"""What a stranger sends beyond what is asked for: it is not kept in memory, and whoever sent it hears why."""

from __future__ import annotations

import contextlib
import socket
import tracemalloc
from collections.abc import Iterator

import pytest
from serving.test_server import HERE, served

from journal_server.app import create_app
from journal_server.measurement.photo_file import MAX_BYTES
from journal_server.services.journal import Journal
from journal_server.services.lan_door import LanDoor
from journal_server.serving.bodies import LONGEST_READ_TO_ITS_END
from journal_server.serving.server import JournalServer

PIECE = b"x" * 65536
UPLOAD = b"Content-Type: multipart/form-data; boundary=x\r\n"
CHUNKED = b"Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n"


@pytest.fixture
def keyed(journal: Journal) -> Iterator[JournalServer]:
    with served(create_app(journal, door=LanDoor("http", 0, [HERE], names=[HERE]), keyed=True), None) as server:
        yield server


@contextlib.contextmanager
def asking(server: JournalServer, address: bytes, headers: bytes) -> Iterator[socket.socket]:
    with socket.create_connection((HERE, server.port), timeout=30) as caller:
        caller.sendall(b"POST %s HTTP/1.1\r\nHost: 127.0.0.1\r\n%s\r\n" % (address, headers))
        yield caller


def whole_answer(caller: socket.socket) -> bytes:
    read = b""
    with contextlib.suppress(ConnectionResetError):
        while more := caller.recv(65536):
            read += more
    return read


def length(of: int) -> bytes:
    return b"Connection: close\r\nContent-Length: %d\r\n" % of


def test_what_a_stranger_sends_is_not_kept_in_memory(keyed: JournalServer) -> None:
    tracemalloc.start()
    try:
        with asking(keyed, b"/api/changes", length(1000 * len(PIECE)).replace(b"close", b"keep-alive")) as stranger:
            for _ in range(1000):
                stranger.sendall(PIECE)
            assert stranger.recv(65536).startswith(b"HTTP/1.1 401 ")
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert most < 10_000_000


def test_one_who_means_to_send_without_end_is_answered_at_once(keyed: JournalServer) -> None:
    for much in (LONGEST_READ_TO_ITS_END + 1, 10**14):
        with asking(keyed, b"/api/changes", length(much)) as stranger:
            assert whole_answer(stranger).startswith(b"HTTP/1.1 401 ")


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        (CHUNKED, b"411 Length Required"),
        (CHUNKED + length(5), b"411 Length Required"),
        (length(-5), b"400 Bad Request"),
    ],
)
def test_a_body_says_how_long_it_is(keyed: JournalServer, headers: bytes, status: bytes) -> None:
    with asking(keyed, b"/api/pair", headers) as stranger:
        answer = whole_answer(stranger)
    assert answer.startswith(b"HTTP/1.1 " + status)
    assert answer.endswith(b"The request must say how long it is (Content-Length).")


def test_of_who_wants_to_pair_only_a_code_and_a_name_are_read(keyed: JournalServer) -> None:
    body = b'{"code": [' + b"[]," * 10_000 + b"[]]}"
    with asking(keyed, b"/api/pair", b"Content-Type: application/json\r\n" + length(len(body))) as stranger:
        stranger.sendall(body)
        assert whole_answer(stranger).startswith(b"HTTP/1.1 413 ")


def test_one_who_sends_too_large_a_photo_hears_it(journal: Journal) -> None:
    with served(create_app(journal), None) as server:
        pieces = (MAX_BYTES + 2_000_000) // len(PIECE)
        with asking(server, b"/api/photos", UPLOAD + length(pieces * len(PIECE))) as caller:
            for _ in range(pieces):
                caller.sendall(PIECE)
            answer = whole_answer(caller)
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert b"up to 60 MB" in answer
