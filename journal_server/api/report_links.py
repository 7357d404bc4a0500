"""Readers' links: shared, listed, brought up to date and closed by the owner; opened by whoever has the address."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, jsonify, request

from journal_server.api.access import SHARED, door, roots
from journal_server.api.answers import body, checked, flag, journal, status_of, trial_of
from journal_server.domain.field_checks import identifier, text
from journal_server.errors import InputRefused, JournalError, NotPaired, TooManyTries
from journal_server.services.keyed_addresses import REPORT, close_address, is_over
from journal_server.services.report_links import bring_up_to_date, make_report_link, report_links, shared_report
from journal_server.services.reports.as_html import SERVED_POLICY
from journal_server.services.reports.make_report import Asked
from journal_server.services.reports.options import Options
from journal_server.storage.keyed_addresses import KeyedAddress

blueprint = Blueprint("report_links", __name__)

FORM_OF = dict(zip(SHARED, ("html", "pdf"), strict=True))


@blueprint.get("/report-links")
def links() -> Response:
    return jsonify(_listed())


@blueprint.post("/report-links")
def share() -> tuple[Response, int]:
    given = body()
    made = make_report_link(journal(), _asked(given), given.get("name"), given.get("last_day"), datetime.now(UTC))
    asked = urlencode({"key": made.key})
    urls = {form: [f"{root.rstrip('/')}{path}?{asked}" for root in roots()] for path, form in FORM_OF.items()}
    answer = jsonify({"made": _told(made.kept), "urls": urls, **_listed()})
    answer.headers["Cache-Control"] = "no-store"
    return answer, 201


@blueprint.post("/report-links/<link_id>")
def renew(link_id: str) -> Response:
    bring_up_to_date(journal(), link_id)
    return links()


@blueprint.delete("/report-links/<link_id>")
def close(link_id: str) -> Response:
    close_address(journal(), REPORT, link_id, datetime.now(UTC))
    return links()


@blueprint.get(SHARED[0].removeprefix("/api"))
def shared_page() -> Response:
    answer = _shared()
    answer.headers["Content-Security-Policy"] = SERVED_POLICY
    return answer


@blueprint.get(SHARED[1].removeprefix("/api"))
def shared_paper() -> Response:
    return _shared()


def _shared() -> Response:
    key = request.args.get("key")
    if key is None:
        raise InputRefused("This address is not whole: its key is missing.", "key")
    try:
        made = shared_report(journal(), key, FORM_OF[request.path], request.remote_addr or "", datetime.now(UTC))
    except (NotPaired, TooManyTries) as error:
        return _said_to_a_reader(error)
    answer = Response(made.content, content_type=made.mime)
    answer.headers["Content-Disposition"] = f'inline; filename="{made.file_name}"'
    # Kept nowhere, so that a closed address is closed at once; found by no search.
    answer.headers["Cache-Control"] = "no-store"
    answer.headers["X-Robots-Tag"] = "noindex"
    return answer


def _said_to_a_reader(error: JournalError) -> Response:
    """A sentence rather than JSON where a person opened the address in a browser."""
    if request.accept_mimetypes.best_match(["application/json", "text/html"]) != "text/html":
        raise error
    return Response(str(error), status=status_of(error), mimetype="text/plain", headers={"Cache-Control": "no-store"})


def _asked(given: dict[str, Any]) -> Asked:
    return Asked(
        kind=checked(given, "report", text(40, required=True)),
        trial_id=trial_of(given),
        options=Options(
            made_on=journal().today(),
            with_place=flag(given, "place", default=False),
            photos=flag(given, "photos", default=True),
            crop=flag(given, "crop", default=False),
        ),
        cultivar_id=checked(given, "cultivar", identifier()),
        other_trial_id=checked(given, "other", identifier()),
        paper=checked(given, "paper", text(10)) or journal().setting("paper"),
    )


def _told(link: KeyedAddress) -> dict[str, Any]:
    return asdict(link) | {"over": link.revoked_at is None and is_over(journal(), link)}


def _listed() -> dict[str, Any]:
    return {"links": [_told(one) for one in report_links(journal())], "lan": door() is not None}
