"""A reader's link: one report, as it was when the owner shared it, for whoever has the address.

The report is a copy, not made anew at each opening: a reader sees what the owner looked at and nothing written since,
its foot says as of when, and opening costs a read, so that an address which goes round keeps no one else waiting.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from journal_server.errors import InputRefused, NotPaired
from journal_server.services.journal import Journal
from journal_server.services.keyed_addresses import (
    NOT_OPEN,
    REPORT,
    NewAddress,
    addresses,
    checked_words,
    is_over,
    known_address,
    make_address,
    opened_by,
)
from journal_server.services.reports.make_report import Asked, Made, make_report
from journal_server.services.reports.options import Options
from journal_server.storage.keyed_addresses import (
    KeyedAddress,
    all_keyed_addresses,
    drop_report_copies,
    keep_report_copy,
    load_report_copy,
    set_keyed_address,
)

FORMS = ("html", "pdf")
MOST_OPEN = 20
"""Each keeps its copies, some megabytes with photos, in the database and so in every backup of it."""


def make_report_link(journal: Journal, asked: Asked, name: object, last_day: object, now: datetime) -> NewAddress:
    _, until = checked_words(name, last_day)  # before the report is made, which takes seconds
    if until and until < journal.today().isoformat():
        raise InputRefused("The last day is over already.", "last_day")
    made = _copies(journal, asked)
    with journal.database.writing() as session:
        _make_room(journal, session)
        link = make_address(
            session, REPORT, name, asked.trial_id, now, details=_details(asked, made["html"]), last_day=last_day
        )
        _keep(session, link.kept.id, made)
    return link


def bring_up_to_date(journal: Journal, link_id: str) -> KeyedAddress:
    """Put the report as it is today in the place of the copy; the address stays."""
    with journal.database.reading() as session:
        known = _still_open(journal, session, link_id)
    asked = replace(_asked(known), options=replace(_asked(known).options, made_on=journal.today()))
    made = _copies(journal, asked)
    with journal.database.writing() as session:
        _still_open(journal, session, link_id)
        set_keyed_address(session, link_id, details=_details(asked, made["html"]))
        _keep(session, link_id, made)
        return known_address(session, REPORT, link_id)


def report_links(journal: Journal) -> list[KeyedAddress]:
    return addresses(journal, REPORT)


def shared_report(journal: Journal, key: str, form: str, asked_from: str, now: datetime) -> Made:
    """The copy that the key opens."""
    link = opened_by(journal, REPORT, key, asked_from, now)
    with journal.database.reading() as session:
        content = load_report_copy(session, link.id, form)
    if content is None:  # closed this very moment
        raise NotPaired(NOT_OPEN[REPORT])
    mime = "text/html; charset=utf-8" if form == "html" else "application/pdf"
    return Made(f"{link.details['file']}.{form}", mime, content)


def _still_open(journal: Journal, session: Session, link_id: str) -> KeyedAddress:
    known = known_address(session, REPORT, link_id)
    if known.revoked_at is not None or is_over(journal, known):
        raise InputRefused("This address is closed. Make a new one.")
    return known


def _make_room(journal: Journal, session: Session) -> None:
    """Let the copies of ended links go; refuse one more than there may be."""
    links = [one for one in all_keyed_addresses(session, REPORT) if one.revoked_at is None]
    ended = [one for one in links if is_over(journal, one)]
    for one in ended:
        drop_report_copies(session, one.id)
    if len(links) - len(ended) >= MOST_OPEN:
        raise InputRefused(f"{MOST_OPEN} reports are shared already. Close one that nobody reads any more.")


def _copies(journal: Journal, asked: Asked) -> dict[str, Made]:
    return {form: make_report(journal, replace(asked, format=form)) for form in FORMS}


def _keep(session: Session, link_id: str, made: Mapping[str, Made]) -> None:
    for form, one in made.items():
        keep_report_copy(session, link_id, form, one.content)


def _details(asked: Asked, made: Made) -> dict[str, Any]:
    """What is shared, as of when, and how its file is called."""
    options = asked.options
    return {
        "report": asked.kind,
        "cultivar_id": asked.cultivar_id,
        "other_trial_id": asked.other_trial_id,
        "place": options.with_place,
        "photos": options.photos,
        "crop": options.crop,
        "paper": asked.paper,
        "made_on": options.made_on.isoformat(),
        "file": made.file_name.rpartition(".")[0],
    }


def _asked(link: KeyedAddress) -> Asked:
    kept = link.details
    return Asked(
        kind=kept["report"],
        trial_id=link.trial_id,
        options=Options(
            made_on=datetime.fromisoformat(kept["made_on"]).date(),
            with_place=kept["place"],
            photos=kept["photos"],
            crop=kept["crop"],
        ),
        cultivar_id=kept["cultivar_id"],
        other_trial_id=kept["other_trial_id"],
        paper=kept["paper"],
    )
