"""The web application, readable top to bottom: the journal, the rooms of the API, the web folder, errors, headers."""

from __future__ import annotations

import secrets

from flask import Flask, Response, request, send_from_directory
from werkzeug.exceptions import HTTPException, NotFound

from journal_server.api import (
    backups,
    calendar,
    changes,
    compare,
    devices,
    exports,
    health,
    look_at,
    matching,
    new_season,
    numbers,
    openapi,
    photos,
    planting_lists,
    point_counts,
    quotes,
    recordings,
    report_links,
    reports,
    season,
    set_up,
    shell,
    verdicts,
    weather,
)
from journal_server.api.access import check_caller
from journal_server.api.answers import error_answer, note_route, refuse_unreadable, status_of
from journal_server.api.compressed import compress_text
from journal_server.errors import JournalError
from journal_server.measurement.photo_file import MAX_BYTES
from journal_server.packaged import packaged_folder
from journal_server.services.backup.schedule import BackupKeeper
from journal_server.services.journal import Journal
from journal_server.services.lan_door import LanDoor
from journal_server.services.measuring import MeasuringRoom

CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; media-src 'self' blob:; "
    "connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
MOST_FORM_PARTS = 20
"""An upload is one file and a few words about it."""


def create_app(
    journal: Journal,
    measuring: MeasuringRoom | None = None,
    *,
    backups_keeper: BackupKeeper | None = None,
    door: LanDoor | None = None,
    keyed: bool = False,
) -> Flask:
    """The application for one journal; ``measuring`` is woken when a photo waits, ``backups_keeper`` asked for backups.

    ``door`` is how other devices reach the journal, if they do. ``keyed`` makes it the application behind that door,
    which asks for a device's key; without it every caller is the owner, so it may listen on loopback only.
    """
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_BYTES + 1_000_000
    app.config["MAX_FORM_MEMORY_SIZE"] = 1_000_000
    app.config["MAX_FORM_PARTS"] = MOST_FORM_PARTS
    app.extensions["journal"] = journal
    app.extensions["measuring"] = measuring
    app.extensions["backups"] = backups_keeper
    app.extensions["door"] = door
    app.extensions["keyed"] = keyed
    app.before_request(note_route)
    app.before_request(check_caller)
    app.before_request(refuse_unreadable)
    rooms = (
        changes,
        photos,
        recordings,
        reports,
        report_links,
        matching,
        set_up,
        planting_lists,
        new_season,
        weather,
        calendar,
        season,
        quotes,
        numbers,
        compare,
        look_at,
        point_counts,
        exports,
        verdicts,
        devices,
        backups,
        health,
        openapi,
    )
    for room in rooms:
        app.register_blueprint(room.blueprint, url_prefix="/api")
    app.register_blueprint(shell.blueprint)
    _serve_web_folder(app)
    _answer_errors(app)
    app.after_request(_add_headers)
    app.after_request(compress_text)
    return app


def _serve_web_folder(app: Flask) -> None:
    web = packaged_folder("web")

    @app.get("/")
    def first_page() -> Response:
        return send_from_directory(web, "index.html")

    @app.get("/<path:name>")
    def web_file(name: str) -> Response:
        if name.startswith("api/"):
            raise NotFound
        return send_from_directory(web, name)


def _answer_errors(app: Flask) -> None:
    @app.errorhandler(JournalError)
    def journal_error(error: JournalError) -> tuple[Response, int]:
        return error_answer(error, status_of(error))

    @app.errorhandler(HTTPException)
    def http_error(error: HTTPException) -> tuple[Response, int] | Response:
        if not request.path.startswith("/api/"):
            return Response(error.description, status=error.code, mimetype="text/plain")
        return error_answer(error, error.code or 500)

    @app.errorhandler(Exception)
    def unexpected(error: Exception) -> tuple[Response, int]:
        error_id = secrets.token_hex(4)
        app.logger.exception("an error that the journal did not expect", extra={"facts": {"id": error_id}})
        return error_answer(error, 500, error_id)


def _add_headers(response: Response) -> Response:
    response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Referrer-Policy"] = "no-referrer"
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    response.headers["Permissions-Policy"] = "camera=(self), microphone=(self), geolocation=()"
    response.headers.setdefault("Cache-Control", "no-cache")
    return response
