"""Point counts: what a person's own count says of a photo, and how well the method agrees with such counts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from journal_server.analysis.agreement import ComparedShare, ShareAgreement, share_agreement
from journal_server.analysis.kappa import Kappa, cohen_kappa_1960, kappa_over_photos
from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.point_count import CLASSES, COUNTED_SHARES
from journal_server.analysis.series import SHARE_WORDS
from journal_server.errors import NotFound
from journal_server.figures.agreement_words import (
    BEYOND,
    WITHIN,
    counted_sentence,
    difference_words,
    kappa_sentence,
    kappa_words,
    share_sentences,
)
from journal_server.figures.words import estimate_words
from journal_server.services.audited_photos import AuditedPhoto, audited_photo, audited_photos, begun_counts
from journal_server.services.count_quotes import quote_of_kappa, quotes_of_count
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.season import photo_facts
from journal_server.storage.records import Record

NO_POINTS = "no point was judged by both"
BEING_MADE = "what the method saw at each point is being looked up; it takes a moment"
ONE_CLASS = "all points are of one class, so that chance alone would give full agreement"


def agreement(journal: Journal, trial_id: str | None = None) -> dict[str, Any]:
    """How well the method agrees with all point counts of a trial, or of the journal.

    ``shares`` has bias and limits of agreement of each number (fractions, 90 % intervals) with the sentences that say
    them, ``kappa`` the agreement point by point, ``audited`` each photo, ``left_out`` those that say nothing and why,
    ``sentences`` the whole as a report prints it.
    """
    if trial_id is not None:
        with journal.database.reading() as session:
            existing(session, "trial", trial_id)
    photos = audited_photos(journal, trial_id)
    shares = share_agreements(photos)
    kappa, kappa_reason, table = _over_all(photos)
    answered = sum(one.tally.answered for one in photos)
    unanswered = sum(one.tally.unanswered for one in photos)
    sentences = [counted_sentence(len(photos), answered, unanswered)]
    if photos:
        sentences += [words for found in shares for words in share_sentences(found)]
        sentences.append(kappa_sentence(kappa, kappa_reason))
    return {
        "trial_id": trial_id,
        "photos": len(photos),
        "points": answered,
        "unanswered": unanswered,
        "counted_by": sorted({c.fields["counted_by"] for one in photos for c in one.counts if c.fields["counted_by"]}),
        "methods": sorted({one.method for one in photos if one.method}),
        "shares": [_share(found) for found in shares],
        "kappa": _kappa(kappa),
        "kappa_reason": kappa_reason,
        "confusion": _confusion(table),
        "audited": [_listed(one) for one in photos if one.reason is None],
        "left_out": [{"photo_id": one.photo.id, "reason": one.reason} for one in photos if one.reason],
        "begun": [_begun(count) for count in begun_counts(journal)],
        "sentences": sentences,
    }


def photo_result(journal: Journal, photo_id: str) -> dict[str, Any]:
    """What the counts of one photo say, beside what the method says, number by number and point by point."""
    found = audited_photo(journal, photo_id)
    if found is None:
        raise NotFound("No point count of this photo was ended yet.")
    kappa = cohen_kappa_1960(found.table) if found.table else None
    rows = [_row(found, name) for name in COUNTED_SHARES]
    quotes = quotes_of_count(journal, found, {row["name"]: row["verdict"] for row in rows})
    return {
        "photo_id": found.photo.id,
        "method": found.method,
        "counts": [_count(count) for count in found.counts],
        "tally": found.tally.as_dict(),
        "answered": found.tally.answered,
        "rows": [row | {"quotes": quotes[row["name"]]} for row in rows],
        "reason": found.reason,
        "kappa": _kappa(kappa, photo_facts(found.photo)),
        "kappa_reason": None if kappa else _why_no_kappa(found.table, found.photo),
        "confusion": _confusion(found.table),
        "points": [{"x": x, "y": y, "said": said, "seen": seen} for x, y, said, seen in found.points],
    }


def share_agreements(photos: Sequence[AuditedPhoto]) -> list[ShareAgreement]:
    return [share_agreement(name, compared(photos, name)) for name in COUNTED_SHARES]


def compared(photos: Sequence[AuditedPhoto], name: str) -> list[ComparedShare]:
    return [one.compared[name] for one in photos if name in one.compared]


def _over_all(photos: Sequence[AuditedPhoto]) -> tuple[Kappa | None, str | None, list[list[int]] | None]:
    tables = [one.table for one in photos if one.table]
    if not tables:
        return None, NO_POINTS, None
    whole = [[sum(table[i][j] for table in tables) for j in range(len(CLASSES))] for i in range(len(CLASSES))]
    kappa = kappa_over_photos(tables)
    return kappa, None if kappa else _why_no_kappa(whole), whole


def _why_no_kappa(table: Sequence[Sequence[int]] | None, photo: Record | None = None) -> str:
    if table and any(map(any, table)):
        return ONE_CLASS
    return BEING_MADE if photo and photo.fields["measuring"] == "waiting" else NO_POINTS


def _share(found: ShareAgreement) -> dict[str, Any]:
    return found.as_dict() | {"words": SHARE_WORDS[found.name], "sentences": share_sentences(found)}


def _kappa(kappa: Kappa | None, photo: PhotoFacts | None = None) -> dict[str, Any] | None:
    """``photo``: where it is of one alone."""
    if kappa is None:
        return None
    return kappa.as_dict() | {"words": kappa_words(kappa), "quote": quote_of_kappa(kappa, photo)}


def _confusion(table: Sequence[Sequence[int]] | None) -> dict[str, Any] | None:
    """Rows are what the method saw, columns what the person said."""
    return {"classes": list(CLASSES), "rows": [list(row) for row in table]} if table else None


def _row(found: AuditedPhoto, name: str) -> dict[str, Any]:
    counted, measured, both = found.counted[name], found.measured.get(name), found.compared.get(name)
    change = both.difference if both else None
    return {
        "name": name,
        "words": SHARE_WORDS[name],
        "counted": counted.as_dict() if counted else None,
        "counted_words": estimate_words(name, counted) if counted else None,
        "measured": measured.as_dict() if measured else None,
        "measured_words": estimate_words(name, measured) if measured else None,
        "difference": change.as_dict() if change else None,
        "difference_words": difference_words(change) if change else None,
        "verdict": (WITHIN if both.is_within_error else BEYOND) if both else None,
        "reason": None if both else found.reason or found.reasons.get(name),
    }


def _listed(found: AuditedPhoto) -> dict[str, Any]:
    return {
        "photo_id": found.photo.id,
        "planting_id": found.photo.fields["planting_id"],
        "taken_at": found.photo.fields["taken_at"],
        "answered": found.tally.answered,
        "unanswered": found.tally.unanswered,
        "rows": [_row(found, name) for name in COUNTED_SHARES],
    }


def _count(count: Record) -> dict[str, Any]:
    names = ("counted_by", "counted_on", "seed")
    return {"id": count.id, **{name: count.fields[name] for name in names}, "points": len(count.fields["points"])}


def _begun(count: Record) -> dict[str, Any]:
    answers = count.fields["answers"]
    return {
        "id": count.id,
        "photo_id": count.fields["photo_id"],
        "answered": len(answers) - answers.count("-"),
        "points": len(answers),
    }
