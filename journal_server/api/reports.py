"""Reports: made anew for each call, to be saved or looked at."""

from __future__ import annotations

from flask import Blueprint, Response, request

from journal_server.api.answers import journal
from journal_server.errors import InputRefused
from journal_server.services.reports.as_html import SERVED_POLICY
from journal_server.services.reports.make_report import Asked, make_report
from journal_server.services.reports.options import Options

blueprint = Blueprint("reports", __name__)

YES_OR_NO = {"yes": True, "no": False}


@blueprint.get("/reports/<kind>")
def report(kind: str) -> Response:
    trial_id = request.args.get("trial")
    if not trial_id:
        raise InputRefused("Say which trial.", "trial")
    asked = Asked(
        kind=kind,
        trial_id=trial_id,
        options=Options(
            made_on=journal().today(),
            with_place=_chosen("place", usual="no"),
            photos=_chosen("photos", usual="yes"),
            crop=_chosen("crop", usual="no"),
        ),
        cultivar_id=request.args.get("cultivar") or None,
        other_trial_id=request.args.get("other") or None,
        format=request.args.get("format") or "html",
        paper=request.args.get("paper") or journal().setting("paper"),
    )
    made = make_report(journal(), asked)
    where = "inline" if _chosen("view", usual="no") and asked.format != "markdown" else "attachment"
    headers = {"Content-Disposition": f'{where}; filename="{made.file_name}"'}
    if asked.format == "html":
        headers["Content-Security-Policy"] = SERVED_POLICY
    return Response(made.content, content_type=made.mime, headers=headers)


def _chosen(name: str, *, usual: str) -> bool:
    given = request.args.get(name, usual)
    if given not in YES_OR_NO:
        raise InputRefused(f"This must be yes or no, not {given[:40]!r}.", name)
    return YES_OR_NO[given]
