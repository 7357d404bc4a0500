"""The door to the home network: addresses, certificate, listeners, and what the terminal says about them."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import segno
from flask import Flask

from journal_server.domain.pairing_codes import spaced
from journal_server.errors import InputRefused
from journal_server.services.certificates import Certificate, home_certificate, is_of_home
from journal_server.services.given_certificate import given_certificate
from journal_server.services.lan_door import LanDoor
from journal_server.services.pairing import PairingCode
from journal_server.serving.hosts import given_hosts, local_name, machine_addresses
from journal_server.serving.keeper import LOOPBACK, CertificateInUse, Keeper
from journal_server.serving.serve import stop_all
from journal_server.serving.server import ANY_ADDRESS, JournalServer, check_port, listen
from journal_server.serving.trust_page import create_trust_page

CERTIFICATES = "certificates"


@dataclass(frozen=True)
class LanOptions:
    """``addresses`` are what others call this machine, where what it finds itself is not right."""

    addresses: tuple[str, ...] = ()
    certificate: tuple[Path, Path] | None = None
    plain_http: bool = False


@dataclass
class Lan:
    """What is open while the journal is served to the network."""

    door: LanDoor
    servers: list[JournalServer] = field(default_factory=list)
    keeper: Keeper | None = None

    def __enter__(self) -> Lan:
        if self.keeper:
            self.keeper.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self.keeper:
            self.keeper.stop()
        stop_all(self.servers)


def open_lan(
    folder: Path, options: LanOptions, port: int, make_app: Callable[[LanDoor], Flask], tell: Callable[[str], None]
) -> Lan:
    """Hold the port for the app and, with the journal's own certificate, the next one for the page that explains it."""
    hosts, certificate_for = _how(folder, options)
    found = list(hosts())
    if certificate_for is None:
        lan = Lan(LanDoor("http", port, found, names=[*found, *LOOPBACK]))
        lan.servers.append(_listen(make_app(lan.door), lan.door))
        lan.keeper = Keeper(lan.door, hosts, tell)
        return lan
    certificate = certificate_for(found)
    door = LanDoor("https", port, found, authority=certificate.authority, names=list(certificate.names))
    _refuse_uncovered(door)
    lan = Lan(door)
    server = _listen(make_app(door), door, certificate)
    lan.servers.append(server)
    if certificate.authority is not None:
        try:
            lan.servers.append(_listen_for_trust(door, port and port + 1))
        except InputRefused:
            server.stop()
            raise
    assert server.tls is not None
    lan.keeper = Keeper(door, hosts, tell, CertificateInUse(certificate, server.tls, certificate_for))
    return lan


def _how(
    folder: Path, options: LanOptions
) -> tuple[Callable[[], Sequence[str]], Callable[[Sequence[str]], Certificate] | None]:
    """How the hosts are found and, unless it is plain http, the certificate for them; both are asked again later."""
    given = given_hosts(options.addresses)
    if options.plain_http:
        return lambda: given or _found_hosts(lambda address: True), None
    if options.certificate is not None:
        read = partial(_read_given, *options.certificate)
        return lambda: given or _names_to_call(read()), lambda hosts: read()
    kept_in = folder / CERTIFICATES
    return (
        lambda: given or _found_hosts(is_of_home),
        lambda hosts: home_certificate(kept_in, hosts, datetime.now(UTC)),
    )


def _read_given(chain_file: Path, key_file: Path) -> Certificate:
    return given_certificate(chain_file, key_file, datetime.now(UTC))


def _found_hosts(is_usable: Callable[[str], bool]) -> list[str]:
    found = machine_addresses()
    usable = [one for one in found if is_usable(one)]
    if not usable and found:
        raise InputRefused(
            f"This computer's addresses ({', '.join(found)}) are not those of a home network, and the journal's own "
            "certificates are for home networks only. Give a certificate of your own with --cert and --key, or the "
            "address by which phones reach this computer with --address."
        )
    if not usable:
        raise InputRefused(
            "This computer is not in any network, so no phone can reach it. Join the home network and start again, "
            "or leave --lan out."
        )
    name = local_name()
    return usable + ([name] if name else [])


def _names_to_call(certificate: Certificate) -> list[str]:
    names = [name for name in certificate.names if not name.startswith("*.") and name not in LOOPBACK]
    if not names:
        raise InputRefused("The certificate is for a whole domain. Say the journal's name in it with --address NAME.")
    return names


def _refuse_uncovered(door: LanDoor) -> None:
    for host in door.hosts:
        if not door.answers_to(host):
            raise InputRefused(f"The certificate is not for {host} but for: {', '.join(door.names)}.")


def _listen(app: Flask, door: LanDoor, certificate: Certificate | None = None) -> JournalServer:
    try:
        server = listen(app, ANY_ADDRESS, check_port(door.port), certificate)
    except OSError as error:
        raise _taken(door.port, "where phones are to find the journal") from error
    door.port = server.port
    return server


def _listen_for_trust(door: LanDoor, port: int) -> JournalServer:
    try:
        server = listen(create_trust_page(door), ANY_ADDRESS, check_port(port))
    except OSError as error:
        raise _taken(port, "where phones are told how to trust the journal") from error
    door.trust_port = server.port
    return server


def _taken(port: int, what_for: str) -> InputRefused:
    return InputRefused(
        f"Port {port}, {what_for}, is in use by another program, or may not be used. Is the journal served already? "
        "Else choose others with --port N; it takes N, N+1 and N+2."
    )


def announcement(door: LanDoor, code: PairingCode | None) -> str:
    """What the terminal says. The code is None where this is written to a file, which is no place for one."""
    lines = ["Phones in this network find it at", *(f"  {address}" for address in door.addresses())]
    if not door.secure:
        lines += [
            "Over plain http anyone in this network can read what is sent, photos and keys included, and the phone's",
            "live camera and the journal without a signal do not work. Use it only where certificates cannot be had.",
        ]
    first = (door.trust_pages() or door.addresses())[0]
    how = "First let the phone trust the journal" if door.trust_pages() else "Open it on the phone"
    lines += [f"{how}: scan this, or type {first}", "", qr_code(first)]
    if door.fingerprint:
        lines += ["SHA-256 fingerprint of the certificate, to compare on the phone:"]
        lines += [f"  {door.fingerprint[:47]}", f"  {door.fingerprint[48:]}"]
    if code:
        lines += [f"Pairing code: {spaced(code.code)}   (lets one device in as {code.role}, within ten minutes)"]
    lines += ["More codes, and the devices: in the journal under Set-up, Phones; or journal-server pair."]
    return "\n".join(lines)


def qr_code(address: str) -> str:
    """For a terminal; empty where the terminal's alphabet has no blocks to draw it with."""
    drawn = io.StringIO()
    segno.make(address, boost_error=False, micro=False).terminal(out=drawn, border=2, compact=True)
    try:
        drawn.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return ""
    return drawn.getvalue()
