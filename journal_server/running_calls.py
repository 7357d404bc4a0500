"""The call that helps to run the journal all day."""

from __future__ import annotations

import argparse
import shlex
import sys
from importlib.resources import files
from pathlib import Path

from journal_server.terminal import DONE, AddCall

UNIT = "planting-trial-journal.service"


def add_running_calls(call: AddCall) -> None:
    unit = call("unit", _unit, "Print a systemd unit that serves a journal all day.", data=False)
    unit.add_argument("--lan", action="store_true", help="let paired devices in the home network in")
    unit.add_argument("--port", type=int, metavar="N")
    unit.add_argument("--address", action="append", default=[], metavar="HOST")


def _unit(given: argparse.Namespace) -> int:
    options = ["--lan"] * given.lan
    options += ["--port", str(given.port)] if given.port is not None else []
    options += [word for address in given.address for word in ("--address", address)]
    print(filled_unit(Path(sys.executable), options), end="")
    return DONE


def filled_unit(python: Path, options: list[str]) -> str:
    """The unit for the program as installed here. A program below a home is readable there, and nothing is writable."""
    below_home = any(python.is_relative_to(home) for home in ("/home", "/root"))
    text = files("journal_server").joinpath("running", UNIT).read_text(encoding="utf-8")
    # systemd takes % for its own specifiers.
    program = f"{shlex.quote(str(python))} -m journal_server".replace("%", "%%")
    told = " ".join(map(shlex.quote, options)).replace("%", "%%")
    text = text.replace("@PROGRAM@", program).replace(" @OPTIONS@", f" {told}" if told else "")
    return text.replace("@HOME@", "read-only" if below_home else "yes")
