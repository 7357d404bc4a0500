"""Keeps the certificate and the machine's addresses up to date while the journal is served."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence

from journal_server.errors import JournalError
from journal_server.services.certificates import Certificate
from journal_server.services.lan_door import LanDoor
from journal_server.serving.server import LateHandshake

LOOKS_EVERY_S = 3600.0


class Keeper(threading.Thread):
    """Looks every hour (certificates need it once a day, a laptop in another network sooner)."""

    def __init__(
        self,
        door: LanDoor,
        hosts: Callable[[], Sequence[str]],
        certificate_for: Callable[[Sequence[str]], Certificate],
        served: Certificate,
        tls: LateHandshake,
        tell: Callable[[str], None],
    ):
        super().__init__(name="certificate keeper", daemon=True)
        self._door, self._hosts, self._certificate_for = door, hosts, certificate_for
        self._served, self._tls, self._tell = served, tls, tell
        self._ended = threading.Event()
        self._last_problem = ""

    def run(self) -> None:
        while not self._ended.wait(LOOKS_EVERY_S):
            self.look()

    def stop(self) -> None:
        self._ended.set()

    def look(self) -> None:
        """Renew what needs it; where that fails, go on with what there is and say so once."""
        try:
            hosts = self._hosts()
            certificate = self._certificate_for(hosts)
            if (certificate.names, certificate.not_after) != (self._served.names, self._served.not_after):
                self._take_up(certificate)
        except (JournalError, OSError) as error:
            if str(error) != self._last_problem:
                self._tell(f"The certificate was not renewed: {error}")
            self._last_problem = str(error)
            return
        self._last_problem = ""
        if list(hosts) != self._door.hosts:
            self._door.hosts = list(hosts)
            self._tell(f"This computer's addresses have changed. Phones find it at {self._door.addresses()[0]}")

    def _take_up(self, certificate: Certificate) -> None:
        self._tls.renew(certificate)
        self._door.names = list(certificate.names)
        if certificate.authority != self._door.authority:
            self._door.authority = certificate.authority
            self._tell("The old certificate authority ends, so a new one was made: every phone has to trust it anew.")
        self._served = certificate
        self._tell(f"The certificate was renewed; it lasts until {certificate.not_after.date().isoformat()}.")
