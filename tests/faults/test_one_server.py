"""Two servers on one journal, and one that was killed."""

from __future__ import annotations

from pathlib import Path

from faults.asking import ask, send_photo
from faults.journal_process import Serving, call
from made_photos import jpeg


def test_the_second_refuses_politely_and_a_killed_one_holds_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    first = Serving(folder)
    try:
        for second in ("serve", "demo"):
            refused = call(second, "--no-browser", "--port", "0", "--data", folder)
            assert refused.returncode == 2
            assert "is being served already" in refused.stderr
            assert "Traceback" not in refused.stderr
        assert ask(f"{first.address}/api/ready")[0] == 200, "the first goes on"
    finally:
        first.kill()
    third = Serving(folder)
    assert ask(f"{third.address}/api/ready")[0] == 200
    assert third.stop() == 0
    fourth = Serving(folder)
    assert fourth.stop() == 0


def test_the_other_calls_work_beside_a_server(tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    (tmp_path / "a.jpg").write_bytes(jpeg("2026:06:12 10:14:03", size=(160, 120)))
    server = Serving(folder)
    try:
        assert send_photo(server.address, jpeg("2026:06:12 10:14:03", seed=1, size=(160, 120)))[0] == 201
        for words in (
            ["add", "--no-measuring", tmp_path / "a.jpg"],
            ["numbers"],
            ["backup", tmp_path / "b.zip"],
            ["check"],
        ):
            done = call(*words, "--data", folder)
            assert done.returncode == 0, (words, done.stdout, done.stderr)
    finally:
        server.kill()
    assert "2 photos" in call("restore", tmp_path / "b.zip", "--data", tmp_path / "new").stdout
