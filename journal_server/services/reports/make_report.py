"""The one way to a report: what is asked for in, files out."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass

from journal_server.errors import InputRefused
from journal_server.services.journal import Journal
from journal_server.services.reports.as_html import as_html
from journal_server.services.reports.as_markdown import as_markdown
from journal_server.services.reports.as_pdf import PAPERS, as_pdf
from journal_server.services.reports.cultivar_report import cultivar_report
from journal_server.services.reports.document import Document
from journal_server.services.reports.gathered import gather
from journal_server.services.reports.options import KINDS, Options
from journal_server.services.reports.order_list import order_list
from journal_server.services.reports.trial_report import trial_report
from journal_server.services.reports.two_trials_report import two_trials_report

FORMATS = ("html", "markdown", "pdf")
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)
"""The earliest that the format knows: the same report gives the same bytes."""


@dataclass(frozen=True)
class Asked:
    """Which report, on what. ``paper`` counts for PDF only."""

    kind: str
    trial_id: str
    options: Options
    cultivar_id: str | None = None
    other_trial_id: str | None = None
    format: str = "html"
    paper: str = "a4"

    def __post_init__(self) -> None:
        for name, given, choices in (
            ("report", self.kind, KINDS),
            ("format", self.format, FORMATS),
            ("paper", self.paper, tuple(PAPERS)),
        ):
            if given not in choices:
                raise InputRefused(f"The {name} must be one of: {', '.join(choices)}; not {given[:40]!r}.", name)
        if self.kind == "cultivar" and not self.cultivar_id:
            raise InputRefused("Say which cultivar.", "cultivar")
        if self.kind == "two-trials" and not self.other_trial_id:
            raise InputRefused("Say which other trial.", "other")
        if self.kind == "two-trials" and self.other_trial_id == self.trial_id:
            raise InputRefused("Choose two different trials.", "other")


@dataclass(frozen=True)
class Made:
    """A report as one file."""

    file_name: str
    mime: str
    content: bytes


def build(journal: Journal, asked: Asked) -> Document:
    """The report as neutral parts."""
    gathered = gather(journal, asked.trial_id)
    if asked.kind == "cultivar":
        return cultivar_report(journal, gathered, str(asked.cultivar_id), asked.options)
    if asked.kind == "two-trials":
        return two_trials_report(journal, gathered, gather(journal, str(asked.other_trial_id)), asked.options)
    alone: dict[str, Callable[..., Document]] = {"trial": trial_report, "order-list": order_list}
    return alone[asked.kind](journal, gathered, asked.options)


def make_report(journal: Journal, asked: Asked) -> Made:
    """The report as one file; Markdown and its pictures as a zip."""
    document = build(journal, asked)
    if asked.format == "html":
        return Made(f"{document.name}.html", "text/html; charset=utf-8", as_html(document))
    if asked.format == "pdf":
        return Made(f"{document.name}.pdf", "application/pdf", as_pdf(document, asked.paper))
    return Made(f"{document.name}.zip", "application/zip", _zipped(document.name, as_markdown(document)))


def markdown_files(journal: Journal, asked: Asked) -> dict[str, bytes]:
    """The Markdown report and its pictures, by their path in the folder that a person chose."""
    return as_markdown(build(journal, asked))


def _zipped(folder: str, files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, content in files.items():
            kind = zipfile.ZIP_STORED if path.endswith(".jpg") else zipfile.ZIP_DEFLATED
            info = zipfile.ZipInfo(f"{folder}/{path}", _ZIP_TIME)
            info.external_attr = 0o644 << 16
            archive.writestr(info, content, compress_type=kind)
    return out.getvalue()
