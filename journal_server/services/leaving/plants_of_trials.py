"""The plantings that an export is of, each with its trial, planter and cultivar."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.cultivar_names import words_of_fields
from journal_server.domain.markup import file_slug
from journal_server.errors import NotFound
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_by_ids, load_records


@dataclass(frozen=True)
class Plant:
    """One planting with the fields of what it belongs to."""

    id: str
    fields: dict[str, Any]
    trial: Record
    planter: dict[str, Any]
    cultivar: Record

    @property
    def planted_on(self) -> date:
        return date.fromisoformat(self.fields["planted_on"])

    @property
    def cultivar_words(self) -> str:
        doubt = " (identity doubtful)" if self.fields["identity"] == "doubtful" else ""
        return words_of_fields(self.cultivar.fields) + doubt

    @property
    def place(self) -> str:
        return str(self.planter["name"])

    @property
    def for_files(self) -> str:
        """Planter and cultivar as part of a file name."""
        parts = (file_slug(self.place, 24), file_slug(words_of_fields(self.cultivar.fields), 40))
        return "_".join(part for part in parts if part) or "planting"


def load_plants(session: Session, trial_id: str | None, planting_ids: Collection[str] = ()) -> list[Plant]:
    """The plantings of a trial (of all), or of these those that are named, in walking order.

    Raises NotFound where the trial or a planting is not there.
    """
    if trial_id is not None:
        existing(session, "trial", trial_id)
    plantings = load_records(session, "planting", equals={"trial_id": trial_id} if trial_id else None)
    if set(planting_ids) - {planting.id for planting in plantings}:
        raise NotFound("There is no such planting.")
    chosen = [planting for planting in plantings if not planting_ids or planting.id in planting_ids]
    names = ("trial_id", "planter_id", "cultivar_id")
    around = {r.id: r for r in load_by_ids(session, {p.fields[name] for p in chosen for name in names})}
    plants = [
        Plant(
            p.id,
            p.fields,
            around[p.fields["trial_id"]],
            around[p.fields["planter_id"]].fields,
            around[p.fields["cultivar_id"]],
        )
        for p in chosen
    ]
    return sorted(plants, key=lambda p: (p.trial.fields["year"], p.trial.id, p.planter["walk_order"] or 0, p.id))


def trial_named(journal: Journal, words: str) -> str:
    """The id of the trial with this id or title; of several trials of one title none is taken for meant."""
    with journal.database.reading() as session:
        trials = load_records(session, "trial")
    meant = [trial.id for trial in trials if words in (trial.id, trial.fields["title"])]
    if len(meant) == 1:
        return meant[0]
    known = "; ".join(f"{trial.fields['title']} ({trial.id})" for trial in trials) or "none yet"
    raise NotFound(f"There {'is no trial' if not meant else 'are several trials'} {words!r}. Trials here: {known}.")
