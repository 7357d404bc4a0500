"""What a database answers, as the journal's own errors with a sentence for people."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionFree

from journal_server.errors import JournalBusy, JournalDamaged, JournalError

BUSY = "Another program is using this journal's database. Nothing was changed; try again in a moment."
FULL = "The disk is full. Nothing was changed and nothing is damaged; make room and try again."
SQLSTATES = {
    "40001": BUSY,  # serialization_failure
    "40P01": BUSY,  # deadlock_detected
    "55P03": BUSY,  # lock_not_available
    "53300": "The database server has no connection free. Nothing was changed; try again, or allow it more.",
    "53100": FULL.replace("The disk", "The disk of the database server"),
    "42501": "The database's user may not do this. Nothing was changed; make it the owner of the journal's database.",
    "25006": "The database takes no changes at present (it is read-only or a standby). Nothing was changed.",
    "22P05": "A text holds a character that the database cannot keep. Nothing was changed.",
}
"""PostgreSQL's codes (its manual, appendix A) that a person can do something about."""
REFUSALS = {
    "password authentication failed": "The database server does not accept this user and password.",
    "no password supplied": "The database server asks for a password; put it into a password file (~/.pgpass).",
    "no pg_hba.conf entry": "The database server lets no one in from this computer (see its pg_hba.conf).",
    "does not exist": "The database server knows no such database or user; make it first, with createdb.",
    "too many": SQLSTATES["53300"],
}
"""How PostgreSQL words why it lets no one in: the driver gives no code with it."""
AWAY = "The database server does not answer. Nothing was changed; see whether it runs, and try again."


@contextmanager
def plain_database_errors() -> Iterator[None]:
    try:
        yield
    except NoConnectionFree as error:
        raise JournalBusy(BUSY) from error
    except DBAPIError as error:
        told = _of_sqlite(error) if type(error.orig).__module__ == "sqlite3" else _of_postgresql(error)
        if told is None:
            raise
        raise told from error


def _of_sqlite(error: DBAPIError) -> JournalError | None:
    reason = str(error.orig)
    if not isinstance(error, OperationalError):
        if "malformed" in reason or "not a database" in reason:
            return JournalDamaged(
                f"The journal's database is damaged ({reason}). Restore the last backup into a new folder."
            )
        return None
    if "locked" in reason.lower():
        return JournalBusy(BUSY)
    if "full" in reason.lower():
        return JournalBusy(FULL)
    if "readonly" in reason.lower() or "unable to open" in reason.lower():
        return JournalBusy(
            f"The journal's database cannot be written ({reason}). Check the folder and its permissions."
        )
    return JournalBusy(f"The journal's database does not answer ({reason}). Nothing was changed.")


def _of_postgresql(error: DBAPIError) -> JournalError | None:
    """None for a fault of the program, which is not to be worded away."""
    says = SQLSTATES.get(getattr(error.orig, "sqlstate", None) or "")
    if says:
        return JournalBusy(says)
    if error.connection_invalidated:
        return JournalBusy(AWAY)
    if not isinstance(error, OperationalError):
        return None
    reason = str(error.orig)
    return JournalBusy(next((says for words, says in REFUSALS.items() if words in reason), AWAY))
