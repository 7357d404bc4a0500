"""What is taken out for other programs: archives that are sent while they are made."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from flask import Blueprint, Response, request

from journal_server.api.answers import journal
from journal_server.domain.field_checks import day
from journal_server.errors import InputRefused
from journal_server.services.leaving.miappe.export import miappe_files
from journal_server.services.leaving.photos import PhotoChoice, choose_photos, exported_photos
from journal_server.services.leaving.zip_stream import Member, zipped

blueprint = Blueprint("exports", __name__)


@blueprint.get("/exports/miappe.zip")
def miappe() -> Response:
    files = list(miappe_files(journal(), request.args.get("trial"), with_place=_ticked("place")))
    return _archive(files, "miappe.zip")


@blueprint.get("/exports/photos.zip")
def photos() -> Response:
    choice = PhotoChoice(
        trial_id=request.args.get("trial"),
        planting_ids=tuple(request.args.getlist("planting")),
        first_day=_day("from"),
        last_day=_day("until"),
        with_place=_ticked("place"),
        with_owner=_ticked("owner"),
    )
    return _archive(exported_photos(choose_photos(journal(), choice), choice), "photos.zip")


def _archive(members: Iterable[Member], name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return Response(zipped(members), mimetype="application/zip", headers=headers)


def _ticked(name: str) -> bool:
    given = request.args.get(name, "no")
    if given not in ("yes", "no"):
        raise InputRefused("This must be yes or no.", name)
    return given == "yes"


def _day(name: str) -> date | None:
    try:
        given = day()(request.args.get(name))
    except InputRefused as error:
        raise InputRefused(str(error), name) from None
    return date.fromisoformat(given) if given else None
