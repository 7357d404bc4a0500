"""The numbers as files: CSV, JSON, a data package."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import journal
from journal_server.errors import InputRefused
from journal_server.services.leaving.zip_stream import zipped
from journal_server.services.numbers_out import (
    csv_text_of_photos,
    load_numbers,
    numbers_json,
    numbers_package,
)

blueprint = Blueprint("numbers", __name__)

FORMATS = ("csv", "json", "package")
BYTE_ORDER_MARK = "\ufeff"


@blueprint.get("/numbers")
def numbers() -> Response:
    wanted = request.args.get("format", "json")
    if wanted not in FORMATS:
        raise InputRefused("The format must be csv, json or package.", "format")
    found = load_numbers(journal(), request.args.get("trial") or None)
    if wanted == "package":
        return _download(b"".join(zipped(numbers_package(found))), "application/zip", "numbers.zip")
    if wanted == "csv":
        # Spreadsheet programs take a CSV without this mark for one of an older code page, and spoil every umlaut.
        mark = BYTE_ORDER_MARK if request.args.get("for") == "spreadsheet" else ""
        return _download((mark + csv_text_of_photos(found)).encode(), "text/csv", "numbers.csv")
    return jsonify(numbers_json(found))


def _download(content: bytes, mimetype: str, name: str) -> Response:
    return Response(content, mimetype=mimetype, headers={"Content-Disposition": f'attachment; filename="{name}"'})
