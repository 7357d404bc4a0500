"""Trials made up for reports: every doubtful state, names that are hard to show, photos that tell on people."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

import pypdfium2
from conftest import SetUp
from made_photos import jpeg
from made_season import keep_numbers, numbers, photo_without_numbers

from journal_server.domain.records import id_that_follows
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal
from journal_server.services.reports.make_report import FORMATS, Asked, Made, make_report, markdown_files
from journal_server.services.reports.options import Options
from journal_server.services.take_in_photo import take_in_photo

TODAY = date(2026, 11, 2)
SEASON = {
    "2026-05-30": (0.2, 0.02),
    "2026-06-13": (0.45, 0.2),
    "2026-06-27": (0.7, 0.5),
    "2026-07-11": (0.8, 0.6),
    "2026-07-25": (0.82, 0.3),
    "2026-08-08": (0.83, 0.2),
}
"""Day: canopy fill, bloom cover. Peak bloom is on 11 July."""


def photographed(
    journal: Journal,
    planting_id: str,
    days: Mapping[str, tuple[float, float]],
    *,
    content: Mapping[str, bytes] | None = None,
    **more: Any,
) -> list[str]:
    """A photo with a file and numbers for each day; answers their ids. ``more`` goes into the numbers."""
    ids = []
    for day, (fill, bloom) in days.items():
        taken = f"{day.replace('-', ':')} 10:00:00"
        file = (content or {}).get(day) or jpeg(taken, seed=abs(hash((planting_id, day))) % 2**32)
        photo_id = take_in_photo(journal, file, f"{day}.jpg").photo.id
        change(journal, "photo", photo_id, planting_id=planting_id)
        keep_numbers(journal, photo_id, planting_id, numbers(fill, bloom, **more))
        ids.append(photo_id)
    return ids


def measured(
    journal: Journal, planting_id: str, days: Mapping[str, tuple[float, float]], *, framed: bool = True, **more: Any
) -> list[str]:
    """The same without files, which is quicker: its photos cannot be shown."""
    ids = []
    for day, (fill, bloom) in days.items():
        photo_id = photo_without_numbers(journal, planting_id, day)
        keep_numbers(journal, photo_id, planting_id, numbers(fill, bloom, **more), framed=framed)
        ids.append(photo_id)
    return ids


def change(journal: Journal, kind: str, identity: str, **fields: Any) -> None:
    (result,) = apply_changes(journal, [{"kind": kind, "id": identity, "fields": fields}])
    assert not result.errors, [(e.field, str(e)) for e in result.errors]


def say_verdict(journal: Journal, trial_id: str, cultivar_id: str, place: str = "container", **fields: Any) -> None:
    about = {"trial_id": trial_id, "cultivar_id": cultivar_id, "place": place}
    change(journal, "verdict", str(id_that_follows("verdict", about)), **about, **fields)


def asked(set_up: SetUp, kind: str, **more: Any) -> Asked:
    options = Options(TODAY, **{k: more.pop(k) for k in ("with_place", "photos", "crop") if k in more})
    return Asked(kind, more.pop("trial_id", set_up.trial_id), options, **more)


def texts_of(journal: Journal, set_up: SetUp, kind: str, **more: Any) -> dict[str, str]:
    """What a reader reads in each format, with single spaces."""
    found = {}
    for one in FORMATS:
        wanted = asked(set_up, kind, format=one, **more)
        if one == "markdown":
            (report,) = (c for path, c in markdown_files(journal, wanted).items() if path.endswith(".md"))
            found[one] = re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", html.unescape(report.decode())).replace("**", "")
        else:
            found[one] = read(make_report(journal, wanted))
    return {one: " ".join(text.replace("\u200b", "").split()) for one, text in found.items()}


def read(made: Made) -> str:
    if made.mime == "application/pdf":
        with pypdfium2.PdfDocument(io.BytesIO(made.content)) as pdf:
            return "\n".join(page.get_textpage().get_text_range() for page in pdf)
    body = re.sub(r"<style>.*?</style>|<(title|desc)[ >].*?</\1>", "", made.content.decode(), flags=re.DOTALL)
    body = re.sub(r'<span class="run">(.*?)</span>', r"\1", body)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))


def squeezed(text: str) -> str:
    """Without any space, since a PDF breaks lines and words where it must."""
    return re.sub(r"[\s\u200b\ufffe-]+", "", text)
