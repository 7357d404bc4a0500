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


def agreement_in_short(journal: Journal, trial_id: str) -> str:
    """Bias, limits of agreement and kappa; how much of the spread the counting itself makes is left to the trial's."""
    found = agreement(journal, trial_id)
    if not found["photos"]:
        return NONE_MADE
    first, *_, last = found["sentences"]
    return " ".join([first, *(words for share in found["shares"] for words in share["sentences"][:2]), last])
