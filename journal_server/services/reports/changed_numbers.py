"""Numbers under a verdict's text that were measured anew since it was written: said beside it, never put in."""

from __future__ import annotations

from journal_server.analysis.quotable import WORDS
from journal_server.services.journal import Journal
from journal_server.services.reports.gathered import Gathered
from journal_server.services.reports.plain_words import sentence
from journal_server.services.verdicts import verdicts_of_trial


def changed_words(journal: Journal, gathered: Gathered) -> dict[tuple[str, str], list[str]]:
    """Sentences by cultivar and place; only where a number is worded otherwise now."""
    if not any(verdict.get("quoted") for verdict in gathered.verdicts.values()):
        return {}
    found = {}
    for one in verdicts_of_trial(journal, gathered.trial.id)["verdicts"]:
        if one["changed"]:
            found[one["cultivar_id"], one["place"]] = [_sentence(changed) for changed in one["changed"]]
    return found


def _sentence(changed: dict[str, str | None]) -> str:
    key = str(changed["key"])
    words = sentence(WORDS.get(key, key.replace("_", " "))).rstrip(".")
    now = f"now {changed['now']}" if changed["now"] else f"no longer known ({changed['reason']})"
    return f"{words}: {changed['was']} when the verdict was written, {now}."
