"""Serves a journal over real HTTP on a free port."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass

from cheroot.wsgi import Server

from journal_server.app import create_app
from journal_server.services.journal import Journal

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 800}


@dataclass
class Served:
    """A journal and the address at which it is served."""

    journal: Journal
    address: str


@contextlib.contextmanager
def serve(journal: Journal) -> Iterator[Served]:
    server = Server(("127.0.0.1", 0), create_app(journal), numthreads=8)
    server.prepare()
    thread = threading.Thread(target=server.serve, daemon=True)
    thread.start()
    try:
        yield Served(journal, f"http://127.0.0.1:{server.bind_addr[1]}")
    finally:
        server.stop()
        thread.join()
