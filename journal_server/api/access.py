"""Who may call: by which name, from which page, with which key, and in which role. The one place that says so."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlsplit

from flask import current_app, g, request

from journal_server.api.answers import journal
from journal_server.domain.roles import HELPER, OWNER, READER, is_at_least, may_change
from journal_server.errors import InputRefused, NotAllowed, TooManyTries
from journal_server.services.devices import device_of_key
from journal_server.services.lan_door import LanDoor
from journal_server.storage.devices import Device

LOOPBACK = ("localhost", "127.0.0.1", "::1")
COOKIE = "journal_key"
CALENDAR = "/api/calendar.ics"
SHARED = ("/api/shared-report", "/api/shared-report.pdf")
OPENED_BY_THEIR_KEY = (CALENDAR, *SHARED)
"""Calendar programs and readers cannot be paired: here a key in the address may stand in for a device's key."""
UPLOADS = (("POST", "/api/photos"), ("POST", "/api/recordings"))
OPEN = "open"
"""Answered without a key: the shell of the app, which must load to pair, pairing, and whether the server lives."""

LEAST_ROLE: dict[tuple[str, str], str] = {
    ("GET", "/"): OPEN,
    ("GET", "/<path:name>"): OPEN,
    ("GET", "/service_worker/list.js"): OPEN,
    ("GET", "/api/health"): OPEN,
    ("GET", "/api/ready"): OPEN,
    ("GET", "/api/me"): OPEN,
    ("POST", "/api/pair"): OPEN,
    ("POST", "/api/leave"): OPEN,
    ("GET", "/api/devices"): OWNER,
    ("POST", "/api/devices"): OWNER,
    ("POST", "/api/devices/<device_id>"): OWNER,
    ("DELETE", "/api/devices/<device_id>"): OWNER,
    ("GET", "/api/changes"): READER,
    ("POST", "/api/changes"): HELPER,
    ("GET", "/api/record-kinds"): READER,
    ("GET", "/api/openapi.json"): READER,
    ("POST", "/api/photos"): HELPER,
    ("GET", "/api/photos/<photo_id>/picture"): READER,
    ("GET", "/api/photos/<photo_id>/classes"): READER,
    ("GET", "/api/photos/<photo_id>/measurements"): READER,
    # The original carries where it was taken; the pictures do not.
    ("GET", "/api/photos/<photo_id>/original"): HELPER,
    ("POST", "/api/recordings"): HELPER,
    ("GET", "/api/recordings/<recording_id>/sound"): READER,
    ("POST", "/api/measure-again"): HELPER,
    ("GET", "/api/legend"): READER,
    ("GET", "/api/home"): READER,
    ("GET", "/api/unsettled"): READER,
    ("POST", "/api/unsettled/accept"): HELPER,
    ("POST", "/api/planting-list"): OWNER,
    ("POST", "/api/planting-list/import"): OWNER,
    ("GET", "/api/cards.pdf"): READER,
    ("GET", "/api/reports/<kind>"): READER,
    # What leaves the journal as a whole, with the place where it was asked for.
    ("GET", "/api/exports/miappe.zip"): OWNER,
    ("GET", "/api/exports/photos.zip"): OWNER,
    ("GET", "/api/settings"): READER,
    ("POST", "/api/settings"): OWNER,
    ("GET", "/api/backups"): OWNER,
    ("POST", "/api/backups"): OWNER,
    ("GET", "/api/weather"): READER,
    ("POST", "/api/weather/import"): OWNER,
    ("POST", "/api/trials/<trial_id>/new-season"): OWNER,
    ("GET", CALENDAR): READER,
    ("GET", SHARED[0]): READER,
    ("GET", SHARED[1]): READER,
    ("GET", "/api/report-links"): OWNER,
    ("POST", "/api/report-links"): OWNER,
    ("POST", "/api/report-links/<link_id>"): OWNER,
    ("DELETE", "/api/report-links/<link_id>"): OWNER,
    ("GET", "/api/calendar-addresses"): OWNER,
    ("POST", "/api/calendar-addresses"): OWNER,
    ("DELETE", "/api/calendar-addresses/<key_id>"): OWNER,
    ("GET", "/api/timeline.svg"): READER,
    ("GET", "/api/timeline"): READER,
    ("GET", "/api/plantings/<planting_id>/curves"): READER,
    ("GET", "/api/plantings/<planting_id>/curves/<quantity>.svg"): READER,
    ("GET", "/api/plantings/<planting_id>/curves/<quantity>"): READER,
    ("GET", "/api/plantings/<planting_id>/summary"): READER,
    ("GET", "/api/plantings/<planting_id>/quotes"): READER,
    ("GET", "/api/photos/<photo_id>/quotes"): READER,
    ("GET", "/api/look-at"): READER,
    ("GET", "/api/plantings/<planting_id>/look-at"): READER,
    ("GET", "/api/review/point-counts"): READER,
    ("GET", "/api/review/how-sure"): READER,
    ("GET", "/api/review/agreement.svg"): READER,
    ("GET", "/api/review/agreement"): READER,
    ("GET", "/api/compare/choices"): READER,
    ("GET", "/api/compare/dates"): READER,
    ("GET", "/api/compare/registration"): READER,
    ("GET", "/api/compare/registered"): READER,
    ("GET", "/api/compare/plantings"): READER,
    ("GET", "/api/compare/side-by-side"): READER,
    ("GET", "/api/compare/ranking.svg"): READER,
    ("GET", "/api/compare/ranking"): READER,
    ("GET", "/api/compare/curves.svg"): READER,
    ("GET", "/api/compare/curves"): READER,
    ("GET", "/api/method-change"): READER,
    ("GET", "/api/numbers"): READER,
    ("GET", "/api/verdicts"): READER,
    ("GET", "/api/verdict-drafts"): READER,
}
"""The least role for each call. A call that is not in it is the owner's alone."""


@dataclass(frozen=True)
class Caller:
    """Who calls. On this computer itself (``local``) no key is asked for: whoever can use it can use the journal."""

    role: str | None
    device: Device | None = None
    local: bool = False


def door() -> LanDoor | None:
    """How other devices reach the journal; None when it is served to this computer only."""
    found: LanDoor | None = current_app.extensions["door"]
    return found


def roots() -> list[str]:
    """By which the journal is reached from the network, or else on this computer alone."""
    lan = door()
    return lan.addresses() if lan else [request.host_url]


def is_keyed() -> bool:
    """Whether this listener asks for a device's key."""
    return bool(current_app.extensions["keyed"])


def caller() -> Caller:
    found: Caller = g.caller
    return found


def check_caller() -> None:
    """Before every request: refuse wrong names, foreign pages, missing keys and roles that do not reach."""
    _refuse_strangers()
    least = _least_role()
    if not is_keyed():
        g.caller = Caller(OWNER, local=True)
    elif least == OPEN or _is_opened_by_its_key():
        g.caller = Caller(None)
    else:
        device = device_of_key(journal(), request.cookies.get(COOKIE), datetime.now(UTC))
        g.caller = Caller(device.role, device)
        if not is_at_least(device.role, least):
            raise NotAllowed(_refusal(device.role))
        _refuse_floods(device)


def refused_kind(change: Any) -> InputRefused | None:
    """Why the caller may not make this change; None when it may."""
    kind = change.get("kind") if isinstance(change, dict) else None
    role = caller().role
    if role is None or not may_change(role, kind):
        return InputRefused(_refusal(str(role)))
    return None


def _least_role() -> str:
    rule = request.url_rule.rule if request.url_rule else None
    if request.path.startswith("/api/") and not (rule and rule.startswith("/api/")):
        return READER  # nothing is there, but what is and what is not a stranger need not learn
    if rule is None:
        return OPEN
    method = {"HEAD": "GET", "OPTIONS": "GET"}.get(request.method, request.method)
    return LEAST_ROLE.get((method, rule), OWNER)


def _is_opened_by_its_key() -> bool:
    """Whether the call rests on the key in its address, which is checked where what it opens is fetched."""
    rule = request.url_rule.rule if request.url_rule else None
    return rule in OPENED_BY_THEIR_KEY and request.method in ("GET", "HEAD") and "key" in request.args


def _refuse_floods(device: Device) -> None:
    """A device that runs wild, or was taken over, does not fill the disk in an hour; a phone tries again by itself."""
    if (request.method, request.path) not in UPLOADS:
        return
    if journal().uploads.too_many(device.id):
        raise TooManyTries("This device sends more files than are taken in a minute. It goes on by itself.")
    journal().uploads.count(device.id)


def _refusal(role: str) -> str:
    if role == READER:
        return "This device may read the journal but not change it. Its owner can pair it anew as a helper."
    return "This device may take photos and note walks; only the journal's owner changes the rest. Nothing was changed."


def _refuse_strangers() -> None:
    """Answer only calls by the server's own names, and edits only from its own pages (other sites, rebound names)."""
    host = _host_of(f"//{request.host}")
    lan = door()
    if host not in LOOPBACK and not (is_keyed() and host and lan and lan.answers_to(host)):
        raise NotAllowed("This server does not answer by that name.")
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return
    origin = request.headers.get("Origin")
    foreign = origin is not None and origin != f"{request.scheme}://{request.host}"
    if foreign or request.headers.get("Sec-Fetch-Site") in ("cross-site", "same-site"):
        raise NotAllowed("Edits are taken only from the journal's own pages.")


def _host_of(address: str) -> str | None:
    try:
        return urlsplit(address).hostname
    except ValueError:
        return None
