"""The systemd unit and the container file: every word in them means something, and to the program as it is now.

No container is built here and no unit started: that takes a container engine and a system manager.
"""

from __future__ import annotations

import configparser
import json
import shlex
import shutil
import subprocess
import sys
import threading
import tomllib
from pathlib import Path

import pytest

from journal_server.api.access import LEAST_ROLE, OPEN
from journal_server.app import create_app
from journal_server.cli import _parser, main
from journal_server.running_calls import UNIT, filled_unit
from journal_server.services.journal import Journal
from journal_server.serving.serve import DEFAULT_PORT
from journal_server.serving.server import IN_FLIGHT_TAKES_S, listen

TOP = Path(__file__).parent.parent
CONTAINERFILE = TOP / "journal_server" / "running" / "Containerfile"


def unit_of(text: str) -> configparser.ConfigParser:
    parsed = configparser.ConfigParser(delimiters="=", interpolation=None, strict=True)
    parsed.optionxform = str  # type: ignore[assignment, method-assign]
    parsed.read_string(text)
    return parsed


def instructions() -> list[tuple[str, str]]:
    lines = [line for line in CONTAINERFILE.read_text().splitlines() if not line.startswith("#")]
    joined = "\n".join(lines).replace("\\\n", " ")
    return [(word, rest.strip()) for word, _, rest in (line.partition(" ") for line in joined.splitlines() if line)]


@pytest.mark.parametrize(
    ("python", "options", "home"),
    [
        ("/opt/journal/bin/python", [], "yes"),
        ("/home/someone/a folder/50%/python", ["--lan", "--address", "garden.local"], "read-only"),
    ],
)
def test_what_the_unit_starts_is_a_call_of_the_program(python: str, options: list[str], home: str) -> None:
    service = unit_of(filled_unit(Path(python), options))["Service"]
    words = [word.replace("%%", "%") for word in shlex.split(service["ExecStart"])]
    assert words[:3] == [python, "-m", "journal_server"]
    given = _parser().parse_args(words[3:])
    assert (given.lan, given.address, given.no_browser) == ("--lan" in options, options[2:], True)
    assert str(given.data) == f"%S/{service['StateDirectory']}"
    assert service["ProtectHome"] == home
    assert int(service["TimeoutStopSec"]) > IN_FLIGHT_TAKES_S, "systemd waits longer than the server does"
    assert "@" not in service["ExecStart"]


def test_systemd_knows_every_option_of_the_unit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By systemd's own check where it is installed; it warns of options it does not know and of what cannot start."""
    assert main(["unit", "--lan"]) == 0
    path = tmp_path / UNIT
    path.write_text(capsys.readouterr().out)
    assert sys.executable in path.read_text()
    assert {"Unit", "Service", "Install"} == set(unit_of(path.read_text()).sections())
    if shutil.which("systemd-analyze"):
        checked = subprocess.run(["systemd-analyze", "verify", str(path)], capture_output=True, text=True, timeout=60)
        assert (checked.returncode, checked.stderr) == (0, "")
        path.write_text(path.read_text().replace("[Service]\n", "[Service]\nProtectGarden=yes\n"))
        checked = subprocess.run(["systemd-analyze", "verify", str(path)], capture_output=True, text=True, timeout=60)
        assert "ProtectGarden" in checked.stderr, "what it does not know is told"


def test_the_container_is_made_of_what_is_there_and_not_of_root() -> None:
    told = instructions()
    known = ["FROM", "COPY", "RUN", "USER", "ENV", "VOLUME", "EXPOSE", "STOPSIGNAL", "HEALTHCHECK", "ENTRYPOINT", "CMD"]
    assert {word for word, _ in told} == set(known)
    copied = [rest.split()[:-1] for word, rest in told if word == "COPY" and not rest.startswith("--from")]
    assert all((TOP / name).exists() for names in copied for name in names)
    asked_for = tomllib.loads((TOP / "pyproject.toml").read_text())
    wheel = asked_for["tool"]["hatch"]["build"]["targets"]["wheel"]
    needed = {*wheel["packages"], *wheel["force-include"], asked_for["project"]["readme"], "LICENSE", "pyproject.toml"}
    assert {name for names in copied for name in names} == needed
    (user,) = (rest for word, rest in told if word == "USER")
    assert int(user) >= 1000
    order = [word for word, _ in told]
    assert order.index("USER") < order.index("ENTRYPOINT") < order.index("CMD")
    assert ("VOLUME", "/data") in told


def test_what_the_container_starts_is_a_call_of_the_program() -> None:
    told = dict(instructions())
    assert json.loads(told["ENTRYPOINT"]) == ["journal-server"]
    given = _parser().parse_args(json.loads(told["CMD"]))
    assert (str(given.data), given.lan, given.log, given.port) == ("/data", True, "json", None)
    assert told["EXPOSE"].split() == [str(DEFAULT_PORT + 1), str(DEFAULT_PORT + 2)]


def test_its_health_is_told_by_the_address_for_it(journal: Journal) -> None:
    command = json.loads(dict(instructions())["HEALTHCHECK"].partition("CMD ")[2])
    assert LEAST_ROLE["GET", "/api/health"] == OPEN
    assert f"http://127.0.0.1:{DEFAULT_PORT}/api/health" in command[-1]
    server = listen(create_app(journal), "127.0.0.1", 0)
    asked = [sys.executable, *command[1:-1], command[-1].replace(str(DEFAULT_PORT), str(server.port))]
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        assert subprocess.run(asked, timeout=30).returncode == 0
    finally:
        server.stop()
        thread.join()
    assert subprocess.run(asked, capture_output=True, timeout=30).returncode == 1
