"""Serves until a person, or the system, asks it to stop; then what is being sent is still taken in."""

from __future__ import annotations

import signal
import threading
from collections.abc import Sequence
from types import FrameType

from journal_server.errors import InputRefused
from journal_server.serving.server import JournalServer, check_port, listen

DEFAULT_PORT = 8765
ASKS_TO_END = (signal.SIGINT, signal.SIGTERM)


def listen_on_loopback(port: int | None, app: object, *, or_any: bool = False) -> JournalServer:
    """A server for this computer alone that holds its port, so that a busy one is told before any long work."""
    wanted = check_port(DEFAULT_PORT if port is None else port)
    try:
        return listen(app, "127.0.0.1", wanted)
    except OSError as error:
        if port is None and or_any:
            return listen_on_loopback(0, app)
        raise InputRefused(
            f"Port {wanted} is in use by another program, or may not be used. Is the journal open already at "
            f"http://127.0.0.1:{wanted}/? Else choose another with --port, or 0 for any free one."
        ) from error


def serve_until_stopped(servers: Sequence[JournalServer]) -> None:
    """Serve on all of them; returns after Ctrl-C or a request to end, when no request is under way any more."""
    first, *others = servers
    if threading.current_thread() is threading.main_thread():
        for asked in ASKS_TO_END:
            signal.signal(asked, _end_once)
    for server in others:
        threading.Thread(target=server.serve, daemon=True).start()
    try:
        first.serve()
    except KeyboardInterrupt:
        print("\nClosing; what is being sent is still taken in.", flush=True)
    finally:
        stop_all(servers)
    print("The journal is closed; everything is kept.")


def _end_once(asked: int, frame: FrameType | None) -> None:
    """Whoever asks again does not want to wait: then the process ends at once, which harms no journal."""
    for one in ASKS_TO_END:
        signal.signal(one, signal.SIG_DFL)
    raise KeyboardInterrupt


def stop_all(servers: Sequence[JournalServer]) -> None:
    """Stop them side by side, so that the last one takes no new requests while the first one finishes."""
    stopping = [threading.Thread(target=server.stop) for server in servers]
    for thread in stopping:
        thread.start()
    for thread in stopping:
        thread.join()
