"""The call that writes reports."""

from __future__ import annotations

import argparse
from pathlib import Path

from journal_server.errors import InputRefused
from journal_server.services.journal import Journal
from journal_server.services.reports.options import KINDS
from journal_server.settings import PAPERS
from journal_server.terminal import DONE, AddCall, opened_journal, write_file


def add_report_calls(call: AddCall) -> None:
    report = call("report", _report, "Write a report as one HTML file, Markdown with pictures in a folder, or PDF.")
    report.add_argument("kind", choices=KINDS)
    report.add_argument("--trial", metavar="TITLE-OR-ID", help="default: the only one, or that of the latest year")
    report.add_argument("--cultivar", metavar="NAME-OR-ID", help="for a report on one cultivar")
    report.add_argument("--other", metavar="TITLE-OR-ID", help="the trial that stands at the right of two")
    where = report.add_mutually_exclusive_group(required=True)
    where.add_argument("--html", type=Path, metavar="FILE")
    where.add_argument("--markdown", type=Path, metavar="FOLDER")
    where.add_argument("--pdf", type=Path, metavar="FILE")
    report.add_argument("--paper", choices=PAPERS, help="default: that of the settings")
    report.add_argument("--with-place", action="store_true", help="name the site of the trial")
    report.add_argument("--no-photos", action="store_true", help="leave the photos out")
    report.add_argument("--crop", action="store_true", help="show of each photo its frame only")


def _report(given: argparse.Namespace) -> int:
    from journal_server.services.reports.make_report import Asked, make_report, markdown_files
    from journal_server.services.reports.options import Options

    with opened_journal(given) as journal:
        trial_id = _trial(journal, given.trial)
        asked = Asked(
            kind=given.kind,
            trial_id=trial_id,
            options=Options(journal.today(), given.with_place, not given.no_photos, given.crop),
            cultivar_id=_cultivar(journal, trial_id, given.cultivar) if given.cultivar else None,
            other_trial_id=_trial(journal, given.other) if given.other else None,
            format="html" if given.html else "pdf" if given.pdf else "markdown",
            paper=given.paper or journal.setting("paper"),
        )
        if given.markdown:
            files = markdown_files(journal, asked)
            _write_folder(given.markdown, files)
            print(f"The report and {len(files) - 1} pictures are in {given.markdown}")
            return DONE
        made, path = make_report(journal, asked), given.html or given.pdf
        write_file(path, made.content)
    print(f"The report is in {path}")
    return DONE


def _trial(journal: Journal, words: str | None) -> str:
    from journal_server.services.leaving.plants_of_trials import trial_named
    from journal_server.services.reports.choices import latest_trial

    return trial_named(journal, words) if words else latest_trial(journal)


def _cultivar(journal: Journal, trial_id: str, words: str) -> str:
    from journal_server.services.reports.choices import cultivar_named

    return cultivar_named(journal, trial_id, words)


def _write_folder(folder: Path, files: dict[str, bytes]) -> None:
    for name, content in files.items():
        path = folder / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputRefused(f"The folder {path.parent} cannot be made ({error.strerror}).") from error
        write_file(path, content)
