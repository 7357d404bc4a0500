"""The class map of a photo as the method alone saw it: kept when it is measured, asked for where it is missing."""

from __future__ import annotations

from collections.abc import Iterable

from journal_server.measurement.class_map import Bytes, read_likeliest
from journal_server.services.journal import Journal
from journal_server.services.matching import WAITING
from journal_server.services.measuring_inputs import MeasureJob, plan_measuring
from journal_server.storage.records import Record, load_by_ids, save_record


def class_map(journal: Journal, job: MeasureJob) -> Bytes | None:
    """uint8 (h, w), the place of each pixel's likeliest class in ``segmentation.CLASSES``; None where not kept."""
    kept = journal.files.derived_file(job.sha256, job.uncorrected.classes_name)
    return read_likeliest(kept.read_bytes()) if kept.exists() else None


def ask_for_class_maps(journal: Journal, touched: Iterable[Record]) -> None:
    """Let photos on which a count was ended wait for measuring where no class map is kept: the numbers stay.

    Photos measured by an earlier version have none, and what is derived may have been thrown away.
    """
    counted = {r.fields["photo_id"] for r in touched if r.kind == "point_count" and r.fields["ended"] and not r.deleted}
    if not counted:
        return
    with journal.database.writing() as session:
        for photo in load_by_ids(session, counted):
            job = plan_measuring(journal, photo.id, session)
            if job and photo.fields["measuring"] == "done" and class_map(journal, job) is None:
                save_record(session, "photo", photo.id, WAITING)
