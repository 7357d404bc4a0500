"""Quotes of the numbers of photos: what a person copies, kept by phones for when there is no signal."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from journal_server.api.answers import journal
from journal_server.services.photo_quotes import quotes_of_photo, quotes_of_planting

blueprint = Blueprint("quotes", __name__)


@blueprint.get("/plantings/<planting_id>/quotes")
def planting_quotes(planting_id: str) -> Response:
    return jsonify(quotes_of_planting(journal(), planting_id))


@blueprint.get("/photos/<photo_id>/quotes")
def photo_quotes(photo_id: str) -> Response:
    return jsonify(quotes_of_photo(journal(), photo_id))
