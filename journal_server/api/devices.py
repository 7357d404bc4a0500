"""This device, and all devices that were paired."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import segno
from flask import Blueprint, Response, jsonify, request

from journal_server.api.access import COOKIE, caller, door, is_keyed
from journal_server.api.answers import body, journal
from journal_server.errors import InputRefused, NotPaired
from journal_server.services.devices import device_of_key, devices, rename_device, revoke_device
from journal_server.services.pairing import make_pairing_code, pair_device
from journal_server.storage.devices import Device

blueprint = Blueprint("devices", __name__)

COOKIE_LASTS_S = 400 * 24 * 3600
"""As long as browsers let a cookie last; each pairing begins anew."""
MOST_OF_A_STRANGER = 10_000
"""A code and a name; read from anyone, so that no more of it is."""


@blueprint.get("/me")
def who_am_i() -> Response:
    device = _this_device()
    role = device.role if device else caller().role
    told = {"id": device.id, "name": device.name, "role": device.role} if device else None
    return jsonify({"device": told, "role": role, "paired": device is not None, "local": caller().local})


@blueprint.post("/pair")
def pair() -> tuple[Response, int]:
    given = body(MOST_OF_A_STRANGER)
    if not is_keyed():
        raise InputRefused("On the journal's own computer nothing needs pairing.")
    address = request.remote_addr or "unknown"
    made = pair_device(journal(), given.get("code"), given.get("device_name"), address, datetime.now(UTC))
    response = jsonify({"device": {"id": made.device.id, "name": made.device.name, "role": made.device.role}})
    _set_cookie(response, made.key, COOKIE_LASTS_S)
    return response, 201


@blueprint.post("/leave")
def leave() -> Response:
    """Forgets this device: its key is revoked and its cookie goes."""
    device = _this_device()
    if device:
        revoke_device(journal(), device.id, datetime.now(UTC))
    response = jsonify({"left": device is not None})
    _set_cookie(response, "", 0)
    return response


@blueprint.get("/devices")
def list_devices() -> Response:
    this = caller().device
    listed = [asdict(one) | {"this": this is not None and one.id == this.id} for one in devices(journal())]
    return jsonify({"devices": listed, "lan": _lan()})


@blueprint.post("/devices")
def make_code() -> tuple[Response, int]:
    role = body().get("role")
    lan = door()
    if lan is None:
        raise InputRefused("The journal is served to this computer only. Start it with “journal-server serve --lan”.")
    made = make_pairing_code(journal(), role, datetime.now(UTC))
    address = lan.pairing_address(made.code)
    return jsonify(asdict(made) | {"address": address, "qr": _qr(address)}), 201


@blueprint.post("/devices/<device_id>")
def rename(device_id: str) -> Response:
    rename_device(journal(), device_id, body().get("name"))
    return list_devices()


@blueprint.delete("/devices/<device_id>")
def revoke(device_id: str) -> Response:
    revoke_device(journal(), device_id, datetime.now(UTC))
    return list_devices()


def _this_device() -> Device | None:
    if not is_keyed():
        return None
    try:
        return device_of_key(journal(), request.cookies.get(COOKIE), datetime.now(UTC))
    except NotPaired:
        return None


def _set_cookie(response: Response, key: str, lasts_s: int) -> None:
    response.set_cookie(
        COOKIE, key, max_age=lasts_s, path="/", secure=request.is_secure, httponly=True, samesite="Strict"
    )
    response.headers["Cache-Control"] = "no-store"


def _lan() -> dict[str, Any] | None:
    lan = door()
    if lan is None:
        return None
    return {
        "addresses": lan.addresses(),
        "trust_pages": lan.trust_pages(),
        "fingerprint": lan.fingerprint,
        "secure": lan.secure,
    }


def _qr(address: str) -> str:
    drawn = BytesIO()
    segno.make(address, boost_error=False, micro=False).save(drawn, kind="svg", scale=8, border=4, light="#fff")
    return drawn.getvalue().decode()
