"""Every error of the journal, in one tree.

JournalError
├── PhotoRefused      a file that cannot be taken in or measured, with a plain sentence
├── InputRefused      a value that a person or program sent cannot be accepted; names the field
├── NotFound          a record, photo or page that is not (or no longer) there
├── Conflict          an edit was made on an older state; carries both values
├── JournalBusy       another process holds this journal, or its database is locked
└── JournalDamaged    the data folder or an archive does not hold what it should
"""

from __future__ import annotations


class JournalError(Exception):
    """Base of all errors of the journal. ``str(error)`` is a sentence for people."""


class PhotoRefused(JournalError):
    """The file is not a photo that can be used: unreadable, truncated, empty, oversized, or no photo at all."""


class InputRefused(JournalError):
    """A value cannot be accepted. ``field`` names where it stood, for the message beside the field."""

    def __init__(self, message: str, field: str | None = None):
        super().__init__(message)
        self.field = field


class NotFound(JournalError):
    """What was asked for is not in the journal."""


class Conflict(JournalError):
    """The same thing was changed elsewhere meanwhile."""


class JournalBusy(JournalError):
    """Another process is using this journal."""


class JournalDamaged(JournalError):
    """Stored data or an archive is not what it should be."""
