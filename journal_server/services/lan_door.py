"""Where other devices find the journal while it is served to the home network."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field


@dataclass
class LanDoor:
    """``hosts`` are addresses and names, the best first; they are replaced when the machine's addresses change.

    ``authority`` is the certificate (DER) that a phone has to trust first, where it has to. ``names`` are what the
    door may be called by, ``*.`` at the start standing for one more part.
    """

    scheme: str
    port: int
    hosts: list[str]
    trust_port: int | None = None
    authority: bytes | None = None
    names: list[str] = field(default_factory=list)

    @property
    def secure(self) -> bool:
        return self.scheme == "https"

    @property
    def fingerprint(self) -> str | None:
        """SHA-256 of the authority's certificate in pairs of hex digits, as phones show it."""
        return hashlib.sha256(self.authority).digest().hex(" ").upper() if self.authority else None

    def addresses(self) -> list[str]:
        return [f"{self.scheme}://{in_address(host)}:{self.port}/" for host in self.hosts]

    def trust_pages(self) -> list[str]:
        """Addresses of the page that helps a phone to trust the journal's certificates; none where it needs none."""
        return [f"http://{in_address(host)}:{self.trust_port}/" for host in self.hosts] if self.trust_port else []

    def pairing_address(self, code: str) -> str:
        """The code stands behind the #, which no browser sends, so it is in no log."""
        return f"{self.addresses()[0]}#/pair?code={code}"

    def answers_to(self, host: str) -> bool:
        wild = "*." + host.partition(".")[2]
        return host in self.names or wild in self.names


def in_address(host: str) -> str:
    return f"[{host}]" if ":" in host else host
