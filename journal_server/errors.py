"""Every error of the journal, in one tree.

JournalError
├── PhotoRefused      a file that cannot be taken in or measured, with a plain sentence
├── RecordingRefused  a file that is no spoken remark that can be kept, with a plain sentence
├── TransferDamaged   the bytes that arrived are not those that were sent
├── InputRefused      a value that a person or program sent cannot be accepted; names the field
├── NotPaired         a device without a key, or whose key was revoked
├── NotAllowed        a paired device whose role does not reach this far, or a stranger's address
├── TooManyTries      too many wrong pairing codes; wait, then try again
├── NotFound          a record, photo or page that is not (or no longer) there
├── Conflict          an edit was made on an older state; carries both values
├── JournalBusy       another process holds this journal, or its database is locked
├── JournalNewer      the journal was used by a newer version of the program than this one
└── JournalDamaged    the data folder or an archive does not hold what it should
"""

from __future__ import annotations


class JournalError(Exception):
    """Base of all errors of the journal. ``str(error)`` is a sentence for people."""


class PhotoRefused(JournalError):
    """The file is not a photo that can be used: unreadable, truncated, empty, oversized, or no photo at all."""


class RecordingRefused(JournalError):
    """The file is not a sound recording that can be kept: empty, oversized, or of another kind."""


class TransferDamaged(JournalError):
    """The bytes that arrived do not have the hash that was sent with them; sending them again helps."""


class InputRefused(JournalError):
    """A value cannot be accepted. ``field`` names where it stood, for the message beside the field."""

    def __init__(self, message: str, field: str | None = None):
        super().__init__(message)
        self.field = field


class NotPaired(JournalError):
    """The device that calls has no key, or its key was revoked."""


class NotAllowed(JournalError):
    """The caller is known but may not do this, or comes from a page or by a name that is not the journal's."""


class TooManyTries(JournalError):
    """Too many wrong codes in a short time."""


class NotFound(JournalError):
    """What was asked for is not in the journal."""


class Conflict(JournalError):
    """The same thing was changed elsewhere meanwhile."""


class JournalBusy(JournalError):
    """Another process is using this journal."""


class JournalNewer(JournalError):
    """The database stands at a step of the schema that this version does not know."""


class JournalDamaged(JournalError):
    """Stored data or an archive is not what it should be."""
