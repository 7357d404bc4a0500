"""The one plain-http page, for phones that do not trust the journal yet. Nothing of the journal is here."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, Response, render_template

from journal_server.services.lan_door import LanDoor

CONTENT_SECURITY_POLICY = (
    "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
PAGES = Path(__file__).parent / "pages"
CERTIFICATE = "/planting-trial-journal.crt"


def create_trust_page(door: LanDoor) -> Flask:
    app = Flask(__name__, static_folder=None, template_folder=str(PAGES))
    look = (PAGES / "trust.css").read_text(encoding="utf-8")

    @app.get("/")
    def page() -> str:
        fingerprint = door.fingerprint or ""
        return render_template(
            "trust.html",
            certificate=CERTIFICATE,
            fingerprint=[fingerprint[at : at + 23] for at in range(0, len(fingerprint), 24)],
            addresses=door.addresses(),
        )

    @app.get("/trust.css")
    def style() -> Response:
        return Response(look, mimetype="text/css")

    @app.get(CERTIFICATE)
    def certificate() -> Response:
        # This type makes an iPhone offer the certificate as a profile, and Android save it as one.
        return Response(door.authority, mimetype="application/x-x509-ca-cert")

    @app.after_request
    def add_headers(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = CONTENT_SECURITY_POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cache-Control"] = "no-store"
        return response

    return app
