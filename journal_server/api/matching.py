"""Today, and the tray of photos that wait for a person."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from journal_server.api.access import caller
from journal_server.api.answers import body, chosen_photos, journal, wake_measuring
from journal_server.services.home import describe_home, unsettled
from journal_server.services.settle import accept_suggestions
from journal_server.storage.records import load_records

blueprint = Blueprint("matching", __name__)


@blueprint.get("/home")
def home() -> Response:
    told = describe_home(journal())
    if not caller().local:
        del told["journal"]["data_folder"]  # it names the person whose computer this is
    return jsonify(told)


@blueprint.get("/unsettled")
def tray() -> Response:
    with journal().database.reading() as session:
        photos = unsettled(load_records(session, "photo"))
    return jsonify(
        {
            "photos": [
                {
                    "photo": photo.as_dict(),
                    "reason": photo.fields["match_reason"],
                    "suggestion": photo.fields["suggested_planting_id"],
                    "choices": photo.fields["choices"],
                }
                for photo in photos
            ]
        }
    )


@blueprint.post("/unsettled/accept")
def accept() -> Response:
    accepted = accept_suggestions(journal(), chosen_photos(body()))
    wake_measuring()
    return jsonify({"accepted": accepted})
