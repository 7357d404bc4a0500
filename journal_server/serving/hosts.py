"""The addresses and the name under which other devices on the network find this machine."""

from __future__ import annotations

import contextlib
import re
import socket
from collections.abc import Iterable
from ipaddress import IPv4Address, IPv6Address, ip_address

import ifaddr

from journal_server.errors import InputRefused

Address = IPv4Address | IPv6Address
_LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
_NAME = re.compile(r"[a-z0-9-]{1,63}(\.[a-z0-9-]{1,63})*")


def machine_addresses() -> list[str]:
    """Addresses that others can reach, the one that leads out of the house first; those of one cable only come last."""
    each = (ip.ip for adapter in ifaddr.get_adapters() for ip in adapter.ips)
    found = {ip_address(one if isinstance(one, str) else one[0]) for one in each}
    usable = [one for one in found if not (one.is_loopback or one.is_unspecified or _needs_a_zone(one))]
    leading_out = _leading_out()
    usable.sort(key=lambda one: (one.version, one.is_link_local, one not in leading_out, int(one)))
    return [str(one) for one in usable]


def local_name() -> str | None:
    """NAME.local, by which devices with multicast DNS know this machine."""
    label = socket.gethostname().split(".")[0].lower()
    return f"{label}.local" if _LABEL.fullmatch(label) and label != "localhost" else None


def given_hosts(given: Iterable[str]) -> list[str]:
    """The hosts that a person named, in their one written form."""
    return [_host(one) for one in given]


def _host(given: str) -> str:
    bare = given.strip().lower().removeprefix("[").removesuffix("]")
    try:
        return str(ip_address(bare))
    except ValueError:
        if _NAME.fullmatch(bare):
            return bare
    raise InputRefused(
        f"{given[:80]!r} is neither an address nor a name; it must look like 192.168.1.20 or garden.local."
    )


def _needs_a_zone(address: Address) -> bool:
    """Link-local addresses of IPv6 need the name of a network card behind them, which no browser takes."""
    return address.version == 6 and address.is_link_local


def _leading_out() -> set[Address]:
    """Where the machine would send from to the outside. Nothing is sent: the targets are reserved for documentation."""
    found: set[Address] = set()
    for family, target in ((socket.AF_INET, "198.51.100.1"), (socket.AF_INET6, "2001:db8::1")):
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as asking:
            asking.connect((target, 9))
            found.add(ip_address(asking.getsockname()[0]))
    return found
