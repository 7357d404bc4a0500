"""What a person names when they ask for a report: a trial, a cultivar."""

from __future__ import annotations

from journal_server.domain.cultivar_names import words_of_fields
from journal_server.errors import NotFound
from journal_server.services.journal import Journal
from journal_server.storage.records import load_by_ids, load_records


def latest_trial(journal: Journal) -> str:
    """The only trial, or the only one of the latest year."""
    with journal.database.reading() as session:
        trials = load_records(session, "trial")
    if not trials:
        raise NotFound("There is no trial yet.")
    year = max(trial.fields["year"] for trial in trials)
    latest = [trial for trial in trials if trial.fields["year"] == year]
    if len(latest) > 1:
        titles = "; ".join(str(trial.fields["title"]) for trial in latest)
        raise NotFound(f"Several trials are of {year}; say which: {titles}.")
    return latest[0].id


def cultivar_named(journal: Journal, trial_id: str, words: str) -> str:
    """The cultivar of a trial with this id, this name or this genus and name, however the letters are cased."""
    with journal.database.reading() as session:
        plantings = load_records(session, "planting", equals={"trial_id": trial_id})
        cultivars = load_by_ids(session, {planting.fields["cultivar_id"] for planting in plantings})
    wanted = words.strip().casefold()
    meant = [
        cultivar.id
        for cultivar in cultivars
        if wanted in (cultivar.id, cultivar.fields["name"].casefold(), _plain(words_of_fields(cultivar.fields)))
        or _plain(wanted) == _plain(words_of_fields(cultivar.fields))
    ]
    if len(meant) == 1:
        return meant[0]
    known = "; ".join(sorted(words_of_fields(cultivar.fields) for cultivar in cultivars)) or "none yet"
    found = "several cultivars are called" if meant else "no cultivar is called"
    raise NotFound(f"In this trial {found} {words!r}. Cultivars there: {known}.")


def _plain(words: str) -> str:
    """Without the quotes around a cultivar's name, which few people type."""
    return words.replace("‘", "").replace("’", "").replace("'", "").casefold()
