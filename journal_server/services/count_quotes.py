"""Quotes of what point counts say: of one photo beside the method's numbers, and of the agreement over many."""

from __future__ import annotations

from journal_server.analysis.kappa import Kappa
from journal_server.analysis.numbers import PhotoFacts
from journal_server.analysis.point_count import COUNTED_SHARES
from journal_server.analysis.quotable import SHARE, QuotableNumber
from journal_server.analysis.series import SHARE_WORDS
from journal_server.domain.words import counted
from journal_server.figures.agreement_words import kappa_words, points_digits, points_interval, points_words
from journal_server.figures.words import quotable_interval, quotable_value
from journal_server.measurement.result import Estimate
from journal_server.services.audited_photos import AuditedPhoto
from journal_server.services.journal import Journal
from journal_server.services.photo_quotes import named_of
from journal_server.services.quotes import NOBODY, Quoted, days_of, quote
from journal_server.services.season import photo_facts
from journal_server.storage.records import load_record

Quote = dict[str, str]


def quote_of_kappa(kappa: Kappa, photo: PhotoFacts | None = None) -> Quote:
    """Of one photo, or of all that were counted."""
    value, interval = kappa_words(kappa).rstrip(")").split(" (")
    photos = "" if photo else f" of {counted(kappa.photos, 'photo')}"
    about = f"{kappa.points:,} points{photos} judged alike at {100 * kappa.alike:.0f} %"
    words = "Cohen's kappa of the method and a count by eye"
    shown = (photo,) if photo else ()
    return quote(Quoted(words, value, interval, tuple(days_of(shown)), NOBODY, shown, (about,)))


def quotes_of_count(
    journal: Journal, found: AuditedPhoto, verdicts: dict[str, str | None]
) -> dict[str, dict[str, Quote]]:
    """By number what is copied of the count, the method and their difference; what is not known is left out."""
    facts = photo_facts(found.photo, found.method)
    own = photo_facts(found.photo)
    planting_id = found.photo.fields["planting_id"]
    with journal.database.reading() as session:
        planting = load_record(session, planting_id) if planting_id else None
        named = named_of(session, planting) if planting else NOBODY
    days = tuple(days_of((own,)))
    by_eye = f"by a count of {found.tally.answered} random points"

    def share(name: str, estimate: Estimate | None, words: str, photo: PhotoFacts) -> Quote | None:
        if estimate is None:
            return None
        number = QuotableNumber(name, "", words, SHARE, estimate)
        return quote(Quoted(words, quotable_value(number), quotable_interval(number) or "", days, named, (photo,)))

    def difference(name: str) -> Quote | None:
        both = found.compared.get(name)
        if both is None:
            return None
        change, words = both.difference, f"{SHARE_WORDS[name]}, the method less the eye, {by_eye}"
        value, interval = points_words(change.value, points_digits(change)), f"{points_interval(change)} points"
        notes = (verdict,) if (verdict := verdicts.get(name)) else ()
        return quote(Quoted(words, value, interval, days, named, (facts,), notes))

    made = {
        name: {
            "counted": share(name, found.counted.get(name), f"{SHARE_WORDS[name]} {by_eye}", own),
            "measured": share(name, found.measured.get(name), SHARE_WORDS[name], facts),
            "difference": difference(name),
        }
        for name in COUNTED_SHARES
    }
    return {name: {key: one for key, one in row.items() if one} for name, row in made.items()}
