"""What the service worker keeps so that the app opens without the server: every file of the web folder and its hash."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from flask import Blueprint, Response

from journal_server.packaged import packaged_folder

blueprint = Blueprint("shell", __name__)

LEFT_OUT = ("service_worker", "service_worker.js", "README.md")
"""The service worker itself, which the browser keeps by its own rules, and what is read by developers only."""


@blueprint.get("/service_worker/list.js")
def shell_list() -> Response:
    files = shell_files(packaged_folder("web"))
    version, listed = json.dumps(version_of(files)), json.dumps(files, indent=1)
    script = f"export const VERSION = {version};\nexport const FILES = {listed};\n"
    return Response(script, mimetype="text/javascript", headers={"Cache-Control": "no-cache"})


def shell_files(web: Path) -> dict[str, str]:
    """The address of each file of the shell and the SHA-256 of its bytes; the first page is at ``/``."""
    found = {}
    for file in sorted(web.rglob("*")):
        name = file.relative_to(web)
        if file.is_file() and name.parts[0] not in LEFT_OUT and not file.name.startswith("."):
            address = "/" if str(name) == "index.html" else f"/{name.as_posix()}"
            found[address] = hashlib.sha256(file.read_bytes()).hexdigest()
    return found


def version_of(files: dict[str, str]) -> str:
    """Changes with any file of the shell."""
    return hashlib.sha256(json.dumps(files, sort_keys=True).encode()).hexdigest()[:16]
