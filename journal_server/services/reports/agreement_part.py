"""How well the method agrees with the point counts of the trial, as reports quote it."""

from __future__ import annotations

from journal_server.services.journal import Journal
from journal_server.services.point_counts import agreement

NONE_MADE = (
    "No point counts were made in this trial, so that how far the method can be trusted on its photos was not checked "
    "by a person."
)


def agreement_words(journal: Journal, trial_id: str) -> str:
    """In sentences; without any count, that there is none."""
    found = agreement(journal, trial_id)
    return " ".join(found["sentences"]) if found["photos"] else NONE_MADE
