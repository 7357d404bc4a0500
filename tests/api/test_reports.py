"""Over HTTP and the command line: reports to save and to look at."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest
from conftest import SetUp, data_options
from flask.testing import FlaskClient
from made_reports import SEASON, photographed

from journal_server import cli
from journal_server.services.journal import Journal

TYPES = {"html": ("text/html", ".html"), "markdown": ("application/zip", ".zip"), "pdf": ("application/pdf", ".pdf")}


@pytest.fixture
def cultivar(journal: Journal, set_up: SetUp) -> str:
    cultivar = set_up.make("cultivar", genus="Petunia", name="Made Up")
    photographed(journal, set_up.planting(cultivar_id=cultivar), {"2026-07-11": SEASON["2026-07-11"]})
    return cultivar


@pytest.mark.parametrize("form", TYPES)
def test_every_report_comes_as_a_file_named_safely(
    client: FlaskClient, set_up: SetUp, cultivar: str, form: str
) -> None:
    other = set_up.make("trial", title="Other", year=2025)
    for kind, more in (
        ("cultivar", f"&cultivar={cultivar}"),
        ("trial", ""),
        ("order-list", ""),
        ("two-trials", f"&other={other}"),
    ):
        answer = client.get(f"/api/reports/{kind}?trial={set_up.trial_id}&format={form}{more}")
        assert answer.status_code == 200, answer.text
        mime, suffix = TYPES[form]
        assert answer.mimetype == mime
        said = answer.headers["Content-Disposition"]
        assert re.fullmatch(rf'attachment; filename="[a-z0-9-]+\{suffix}"', said), said


def test_html_that_is_looked_at_is_no_page_of_the_journal(client: FlaskClient, set_up: SetUp, cultivar: str) -> None:
    """Its policy allows no script and nothing from anywhere, and puts it into an origin of its own."""
    answer = client.get(f"/api/reports/trial?trial={set_up.trial_id}&view=yes")
    assert answer.headers["Content-Disposition"].startswith("inline")
    parts = [part.strip().partition(" ") for part in answer.headers["Content-Security-Policy"].split(";")]
    policy = {name: words for name, _, words in parts}
    assert policy["default-src"] == "'none'"
    assert policy["img-src"] == "data:"
    assert policy["sandbox"] == ""
    assert policy["frame-ancestors"] == "'none'"
    assert not {"script-src", "connect-src", "form-src"} & set(policy)
    assert b"<script" not in answer.data
    assert re.search(rb'<meta http-equiv="Content-Security-Policy" content="default-src \'none\'', answer.data)


def test_markdown_is_always_saved(client: FlaskClient, set_up: SetUp, cultivar: str) -> None:
    answer = client.get(f"/api/reports/trial?trial={set_up.trial_id}&format=markdown&view=yes")
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert any(name.endswith(".md") for name in zipfile.ZipFile(io.BytesIO(answer.data)).namelist())


def test_paper_is_that_of_the_settings_unless_asked(client: FlaskClient, journal: Journal, set_up: SetUp) -> None:
    address = f"/api/reports/order-list?trial={set_up.trial_id}&format=pdf"
    journal.change_settings({"paper": "letter"})
    letter, a4 = client.get(address).data, client.get(f"{address}&paper=a4").data
    assert letter == client.get(f"{address}&paper=letter").data
    assert a4 != letter


@pytest.mark.parametrize(
    ("query", "status", "field"),
    [
        ("trial", 422, "trial"),
        ("page?trial={trial}", 422, "report"),
        ("trial?trial={trial}&format=docx", 422, "format"),
        ("trial?trial={trial}&paper=a3", 422, "paper"),
        ("trial?trial={trial}&place=perhaps", 422, "place"),
        ("cultivar?trial={trial}", 422, "cultivar"),
        ("two-trials?trial={trial}&other={trial}", 422, "other"),
        ("trial?trial=none", 404, None),
        ("cultivar?trial={trial}&cultivar=none", 404, None),
    ],
)
def test_what_is_wrong_is_answered_in_a_sentence(
    client: FlaskClient, set_up: SetUp, query: str, status: int, field: str | None
) -> None:
    answer = client.get(f"/api/reports/{query.format(trial=set_up.trial_id)}")
    assert answer.status_code == status
    error = answer.get_json()["error"]
    assert error["field"] == field
    assert error["message"].endswith(".")


def test_the_command_line_writes_each_format(
    journal: Journal, set_up: SetUp, cultivar: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = data_options(journal)
    page, paper, folder = tmp_path / "r.html", tmp_path / "r.pdf", tmp_path / "out" / "r"
    assert cli.main(["report", "trial", *data, "--html", str(page)]) == 0
    assert page.read_bytes().startswith(b"<!doctype html>")
    assert cli.main(["report", "cultivar", *data, "--cultivar", "petunia 'made up'", "--pdf", str(paper)]) == 0
    assert paper.read_bytes().startswith(b"%PDF-")
    assert cli.main(["report", "trial", *data, "--markdown", str(folder), "--crop"]) == 0
    assert len(list(folder.glob("*.md"))) == 1
    assert len(list((folder / "pictures").glob("*.jpg"))) == 1
    assert (
        f"The report and {len(list((folder / 'pictures').iterdir()))} pictures are in {folder}"
        in capsys.readouterr().out
    )


def test_the_command_line_says_what_it_could_have_meant(
    journal: Journal, set_up: SetUp, cultivar: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, page = data_options(journal), ["--html", str(tmp_path / "r.html")]
    assert cli.main(["report", "cultivar", *data, "--cultivar", "Tulip", *page]) == 2
    assert "no cultivar is called 'Tulip'. Cultivars there: Petunia ‘Made Up’." in capsys.readouterr().err
    set_up.make("trial", title="Also this year", year=2026)
    assert cli.main(["report", "trial", *data, *page]) == 2
    assert "Several trials are of 2026; say which: Terrace; Also this year." in capsys.readouterr().err
    assert cli.main(["report", "trial", *data, "--trial", "Terrace", "--html", str(tmp_path)]) == 2
    assert "cannot be written" in capsys.readouterr().err
