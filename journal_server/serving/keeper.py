"""Keeps the machine's addresses and the certificate for them up to date while the journal is served."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from journal_server.errors import JournalError
from journal_server.services.certificates import Certificate
from journal_server.services.lan_door import LanDoor
from journal_server.serving.server import LateHandshake

LOOKS_EVERY_S = 3600.0
LOOPBACK = ("localhost", "127.0.0.1", "::1")


@dataclass
class CertificateInUse:
    """The certificate that is served now, where it is served, and how the one for other hosts is had."""

    served: Certificate
    adapter: LateHandshake
    certificate_for: Callable[[Sequence[str]], Certificate]

    def take_up(self, certificate: Certificate) -> None:
        self.adapter.renew(certificate)
        self.served = certificate


class Keeper(threading.Thread):
    """Looks every hour (certificates need it once a day, a laptop in another network sooner)."""

    def __init__(
        self,
        door: LanDoor,
        hosts: Callable[[], Sequence[str]],
        tell: Callable[[str], None],
        tls: CertificateInUse | None = None,
    ):
        super().__init__(name="certificate keeper", daemon=True)
        self._door, self._hosts, self._tell, self._tls = door, hosts, tell, tls
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
            hosts = list(self._hosts())
            self._renew(hosts)
        except (JournalError, OSError) as error:
            if str(error) != self._last_problem:
                self._tell(f"The addresses or the certificate could not be renewed: {error}")
            self._last_problem = str(error)
            return
        self._last_problem = ""
        if hosts != self._door.hosts:
            self._door.hosts = hosts
            self._tell(f"This computer's addresses have changed. Phones find it at {self._door.addresses()[0]}")

    def _renew(self, hosts: list[str]) -> None:
        if self._tls is None:
            self._door.names = [*hosts, *LOOPBACK]
            return
        now, before = self._tls.certificate_for(hosts), self._tls.served
        if (now.names, now.not_after) == (before.names, before.not_after):
            return
        self._tls.take_up(now)
        self._door.names = list(now.names)
        if now.authority != self._door.authority:
            self._door.authority = now.authority
            self._tell("The old certificate authority ends, so a new one was made: every phone has to trust it anew.")
        self._tell(f"The certificate was renewed; it lasts until {now.not_after.date().isoformat()}.")
