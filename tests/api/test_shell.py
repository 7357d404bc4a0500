"""The list of the app's own files, and how a phone tells journals and feeds apart."""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from journal_server.api.shell import LEFT_OUT, shell_files, version_of
from journal_server.app import create_app
from journal_server.packaged import packaged_folder
from journal_server.services.backup import make_backup, restore_backup
from journal_server.services.journal import Journal, open_journal


def listed(client: FlaskClient) -> dict[str, Any]:
    answer = client.get("/service_worker/list.js")
    assert answer.mimetype == "text/javascript"
    version, files = re.fullmatch(
        r"export const VERSION = (.*?);\nexport const FILES = (.*);\n", answer.text, re.S
    ).groups()  # type: ignore[union-attr]
    return {"version": json.loads(version), "files": json.loads(files)}


def test_every_listed_file_is_served_with_the_listed_bytes(client: FlaskClient) -> None:
    shell = listed(client)
    assert {"/", "/app.js", "/manifest.webmanifest", "/styles/base.css", "/store/database.js"} <= set(shell["files"])
    for address, sha256 in shell["files"].items():
        answer = client.get(address)
        assert (answer.status_code, hashlib.sha256(answer.data).hexdigest()) == (200, sha256), address
        answer.close()


def test_no_file_of_the_web_folder_is_forgotten(client: FlaskClient) -> None:
    web = packaged_folder("web")
    there = {file.relative_to(web) for file in web.rglob("*") if file.is_file()}
    left_out = {file for file in there if file.parts[0] in LEFT_OUT}
    addresses = {"/" if str(file) == "index.html" else f"/{file.as_posix()}" for file in there - left_out}
    assert set(listed(client)["files"]) == addresses


def test_the_version_changes_with_any_byte_and_any_name(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("page")
    (tmp_path / "app.js").write_text("1")
    versions = [version_of(shell_files(tmp_path))]
    (tmp_path / "app.js").write_text("2")
    versions.append(version_of(shell_files(tmp_path)))
    (tmp_path / "app.js").rename(tmp_path / "other.js")
    versions.append(version_of(shell_files(tmp_path)))
    assert len(set(versions)) == 3


def test_the_manifest_makes_the_app_installable(client: FlaskClient) -> None:
    answer = client.get("/manifest.webmanifest")
    assert answer.mimetype == "application/manifest+json"
    manifest = json.loads(answer.data)
    answer.close()
    icons = {(icon["sizes"], icon.get("purpose", "any")) for icon in manifest["icons"]}
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= icons
    for icon in manifest["icons"]:
        picture = client.get(icon["src"])
        assert picture.mimetype == icon["type"]
        if icon["type"] == "image/png":
            # Width and height stand at byte 16 of a PNG (its specification, section 11.2.1).
            width, height = (int.from_bytes(picture.data[at : at + 4], "big") for at in (16, 20))
            assert f"{width}x{height}" == icon["sizes"]
        picture.close()


def test_the_policy_lets_the_app_use_what_it_needs(client: FlaskClient) -> None:
    answer = client.get("/")
    policy = answer.headers["Content-Security-Policy"]
    answer.close()
    for part in ("manifest-src 'self'", "worker-src 'self'", "media-src 'self' blob:", "img-src 'self' blob: data:"):
        assert part in policy


def identity(journal: Journal) -> dict[str, str]:
    answer = create_app(journal).test_client().get("/api/changes").get_json()
    return {name: answer[name] for name in ("journal", "feed")}


@pytest.mark.sqlite_only
def test_a_restored_journal_is_the_same_journal_with_another_feed(journal: Journal, tmp_path: Path) -> None:
    before = identity(journal)
    assert identity(journal) == before
    make_backup(journal, tmp_path / "archive.zip")
    restore_backup(tmp_path / "archive.zip", tmp_path / "restored")
    with contextlib.closing(open_journal(tmp_path / "restored")) as restored:
        after = identity(restored)
    assert (after["journal"], after["feed"] != before["feed"]) == (before["journal"], True)


def test_two_journals_are_told_apart(journal: Journal, tmp_path: Path) -> None:
    with contextlib.closing(open_journal(tmp_path / "second")) as second:
        assert identity(second)["journal"] != identity(journal)["journal"]
