"""What the server writes down: one line a request and one a problem, as plain words or as JSON, and nothing private.

A line names the pattern of an address, not the address, which may hold an id or a key; no caller, no name, no text of
an error, which may quote what was typed or where something lies on disk. An unexpected error is told by its kind, by
where in the code it arose, and by an id that whoever met it was told too.
"""

from __future__ import annotations

import json
import logging
import sys
import time
import traceback
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from wsgiref.types import StartResponse, WSGIEnvironment

PLAIN, JSON = "plain", "json"
FORMS = (PLAIN, JSON)
REQUESTS = logging.getLogger("journal_server.requests")
FACTS = "facts"
ROUTE = "journal.route"
NO_ROUTE = "(other)"


def begin_logs(form: str | None) -> None:
    """From now on problems go to standard error, and requests too where a form was chosen."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines() if form == JSON else PlainLines())
    logging.basicConfig(handlers=[handler], level=logging.WARNING, force=True)
    REQUESTS.setLevel(logging.INFO if form else logging.WARNING)


def facts_of(record: logging.LogRecord) -> dict[str, Any]:
    """What a line says, in order."""
    told: dict[str, Any] = {
        "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
        "level": record.levelname.lower(),
        "says": record.getMessage(),
        **getattr(record, FACTS, {}),
    }
    if record.exc_info and record.exc_info[0]:
        told |= {"error": record.exc_info[0].__name__, "where": _where(record.exc_info[1])}
    return told


class JsonLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return json.dumps(facts_of(record), ensure_ascii=False)


class PlainLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        told = facts_of(record)
        first = " ".join(str(told.pop(name)) for name in ("at", "level", "says"))
        return " ".join([first, *(f"{name}={_one_word(value)}" for name, value in told.items())])


class LoggedRequests:
    """Around an application: tells each request once its answer has been sent, or broken off."""

    def __init__(self, app: Callable[[WSGIEnvironment, StartResponse], Iterable[bytes]]):
        self._app = app

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        begun = time.perf_counter()
        status = 0

        def start(line: str, headers: list[tuple[str, str]], *more: Any) -> Callable[[bytes], object]:
            nonlocal status
            status = int(line.split(" ", 1)[0])
            return start_response(line, headers, *more)

        sent = 0
        answer = self._app(environ, start)
        try:
            for piece in answer:
                sent += len(piece)
                yield piece
        finally:
            if hasattr(answer, "close"):
                answer.close()
            _tell(environ, status, sent, time.perf_counter() - begun)


def _tell(environ: WSGIEnvironment, status: int, sent: int, took_s: float) -> None:
    facts = {
        "method": _method(environ),
        "route": environ.get(ROUTE, NO_ROUTE),
        "status": status,
        "ms": round(took_s * 1000),
        "bytes": sent,
    }
    REQUESTS.info("request", extra={FACTS: facts})


def _method(environ: WSGIEnvironment) -> str:
    """A caller may write anything there."""
    given = str(environ.get("REQUEST_METHOD"))
    return given if given in ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS") else "(other)"


def _where(error: BaseException | None) -> list[str]:
    """The frames of the error, innermost last: file, line, function; no text of theirs."""
    frames = traceback.extract_tb(error.__traceback__ if error else None)
    return [f"{'/'.join(Path(one.filename).parts[-2:])}:{one.lineno} {one.name}" for one in frames]


def _one_word(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, list) else str(value).replace(" ", "_")
