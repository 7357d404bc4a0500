"""The database itself: whether the file is sound, at which step of the schema it stands, its settings."""

from __future__ import annotations

import json

from sqlalchemy.engine import Connection

from journal_server.errors import InputRefused
from journal_server.services.check.findings import NOTE, WRONG, Finding, together
from journal_server.settings import SETTINGS
from journal_server.storage.database import known_schemas, newest_schema
from journal_server.storage.inspection import (
    filed_wrongly,
    integrity_problems,
    missing_tables,
    numbers_run_behind,
    schema_of,
    settings_seen,
)

PART = "database"
RESTORE = "Restore the last good backup into a new folder, and keep this folder until you have compared the two."


def check_soundness(connection: Connection) -> list[Finding]:
    return together(WRONG, PART, "The database file is damaged", integrity_problems(connection), RESTORE)


def check_schema(connection: Connection) -> tuple[bool, list[Finding]]:
    """Whether this version can read the tables, and what is to be said of their step."""
    found, newest = schema_of(connection), newest_schema()
    if found is None:
        return False, [Finding(WRONG, PART, "The database holds no journal.", RESTORE)]
    if found not in known_schemas():
        what = (
            f"The database stands at step {found}, from a newer version of the program (this one knows up to {newest})."
        )
        return False, [Finding(WRONG, PART, what, "Install the newer version again. Nothing is lost.")]
    if found != newest:
        what = f"The database stands at step {found} of the schema; this version works with step {newest}."
        mend = "Make a backup. It is brought up to date when the journal is served next."
        return True, [Finding(NOTE, PART, what, mend)]
    return True, []


def check_tables(connection: Connection) -> list[Finding]:
    """Whether all are there, and whether what they repeat agrees; of the newest step, since earlier ones lack some."""
    if schema_of(connection) != newest_schema():
        return []
    missing = missing_tables(connection)
    if missing:
        return together(WRONG, PART, "Tables of the database are missing", missing, RESTORE)
    return together(WRONG, PART, "Records are filed where they do not belong", filed_wrongly(connection), RESTORE)


def check_numbering(connection: Connection) -> list[Finding]:
    behind = numbers_run_behind(connection)
    if behind is None:
        return []
    counter, highest = behind
    what = f"The counter of changes stands at {counter}, but change {highest} was made: phones would miss changes."
    return [Finding(WRONG, PART, what, RESTORE)]


def check_settings(connection: Connection) -> list[Finding]:
    wrong = []
    for name, value in settings_seen(connection).items():
        if name not in SETTINGS:
            continue
        try:
            SETTINGS[name].check(json.loads(value))
        except (InputRefused, ValueError) as error:
            wrong.append(f"{SETTINGS[name].label} ({error})")
    return together(
        WRONG, "settings", "A setting has a value that is not accepted", wrong, "Set it again under Set-up."
    )
