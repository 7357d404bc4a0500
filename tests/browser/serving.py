"""Serves a journal over real HTTP on a free port; it can be stopped and started again at the same address."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterator

from cheroot.wsgi import Server
from flask import Flask

from journal_server.app import create_app
from journal_server.services.backup.schedule import BackupKeeper
from journal_server.services.journal import Journal

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 800}


class Served:
    """A journal and the address at which it is served."""

    def __init__(self, journal: Journal):
        self.journal = journal
        # Named before it is bound, so that it may be bound again while old connections are still closing.
        with socket.create_server(("127.0.0.1", 0)) as free:
            self._port = free.getsockname()[1]
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self._port}"

    def start(self) -> None:
        self._server = Server(("127.0.0.1", self._port), self._app(), numthreads=8)
        self._server.prepare()
        self._thread = threading.Thread(target=self._server.serve, daemon=True)
        self._thread.start()

    def _app(self) -> Flask:
        self._keeper = BackupKeeper(self.journal)
        self._keeper.start()
        return create_app(self.journal, backups_keeper=self._keeper)

    def stop(self) -> None:
        self._keeper.stop()
        self._server.stop()
        self._thread.join()


@contextlib.contextmanager
def serve(journal: Journal) -> Iterator[Served]:
    served = Served(journal)
    try:
        yield served
    finally:
        served.stop()
