"""Decoding is contained: a file that breaks a decoder is refused, and the next one is as good as before."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from io import BytesIO
from multiprocessing.pool import ThreadPool
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from made_photos import jpeg
from PIL import Image
from worker_targets import process_after, read_or_fail_on_marked

from journal_server.errors import PhotoRefused
from journal_server.services import take_in_photo
from journal_server.services.decoding import DecodingRoom, read_photo, smaller_jpeg

MakeRoom = Callable[..., DecodingRoom]


@pytest.fixture
def make_room() -> Iterator[MakeRoom]:
    with ExitStack() as stack:

        def make(at_once: int = 1, **limits: float) -> DecodingRoom:
            room = DecodingRoom(at_once, **limits)  # type: ignore[arg-type]
            stack.callback(room.stop)
            return room

        yield make


@pytest.mark.parametrize(
    ("name", "longest_s", "words"),
    [
        ("crash.jpg", 120.0, "breaks down at it"),
        ("killed.jpg", 120.0, "breaks down at it"),
        ("hang.jpg", 25.0, "took over 25 seconds"),
        ("memory.jpg", 120.0, "too large for this computer's memory"),
    ],
)
def test_a_photo_that_breaks_a_decoder_is_refused_and_the_next_is_taken_in(
    client: FlaskClient,
    make_room: MakeRoom,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    longest_s: float,
    words: str,
) -> None:
    monkeypatch.setattr(take_in_photo, "decode_apart", make_room(longest_s=longest_s).call)
    monkeypatch.setattr(take_in_photo, "read_photo", read_or_fail_on_marked)
    content = jpeg("2026:06:12 10:14:03", size=(160, 120))
    refused = client.post("/api/photos", data={"photo": (BytesIO(content), name)})
    assert (refused.status_code, refused.get_json()["error"]["kind"]) == (422, "PhotoRefused")
    assert words in refused.get_json()["error"]["message"]
    assert client.get("/api/changes").get_json()["records"] == []
    assert client.post("/api/photos", data={"photo": (BytesIO(content), "good.jpg")}).status_code == 201


def test_what_is_large_in_memory_is_refused_by_the_limit_itself(make_room: MakeRoom) -> None:
    large = BytesIO()
    Image.new("RGB", (9000, 9000), (90, 120, 60)).save(large, "PNG")
    room = make_room(most_bytes=200 << 20)
    with pytest.raises(PhotoRefused, match="too large for this computer's memory"):
        room.call(smaller_jpeg, BytesIO(large.getvalue()), 320)
    assert room.call(read_photo, jpeg(size=(160, 120)), "a.jpg", None, "Europe/Paris").width == 160


def test_a_process_that_was_ended_while_it_waited_costs_nothing(make_room: MakeRoom) -> None:
    room = make_room()
    first, ended_first = room.call(process_after, 0.0)
    assert ended_first == "900", "before the server, whose number is 0"
    os.kill(first, signal.SIGKILL)
    assert room.call(process_after, 0.0)[0] != first


def test_a_process_that_has_nothing_to_do_goes_and_another_comes(make_room: MakeRoom) -> None:
    room = make_room(idle_s=0.2)
    first, _ = room.call(process_after, 0.0)
    until = time.monotonic() + 60
    while room.call(process_after, 0.0)[0] == first:
        assert time.monotonic() < until
        time.sleep(2)


def test_so_many_at_once_and_no_more(make_room: MakeRoom) -> None:
    room = make_room(at_once=2)
    with ThreadPool(6) as callers:
        processes = {process for process, _ in callers.map(lambda _: room.call(process_after, 0.1), range(6))}
    assert 1 <= len(processes) <= 2
    room.stop()
    assert not processes & {child.pid for child in multiprocessing.active_children()}


UNGUARDED = """
import sys
from pathlib import Path
from journal_server.services.journal import open_journal
from journal_server.services.take_in_photo import take_in_file
print("begun", flush=True)
journal = open_journal(Path(sys.argv[1]))
print(take_in_file(journal, Path(sys.argv[2])).outcome)
journal.close()
"""


def test_a_script_without_a_guarded_main_part_runs_once_and_takes_photos_in(tmp_path: Path) -> None:
    (tmp_path / "photo.jpg").write_bytes(jpeg("2026:06:12 10:14:03", size=(320, 240)))
    (tmp_path / "script.py").write_text(UNGUARDED)
    call = [sys.executable, tmp_path / "script.py", tmp_path / "journal", tmp_path / "photo.jpg"]
    done = subprocess.run(call, capture_output=True, text=True, timeout=300)
    assert (done.stdout.split("\n"), done.returncode) == (["begun", "taken in", ""], 0), done.stderr
