"""The tables. Field names and their rules live in ``domain.records``; here is only how they are kept."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Text,
    UniqueConstraint,
    func,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    metadata = MetaData(naming_convention=NAMING)


class RecordRow(Base):
    """One editable record of any kind; ``field_versions`` says at which version each field was last set.

    ``planting_id`` and ``measuring`` repeat those fields, so that the records of a planting, and the photos that wait,
    are found without reading all of a kind.
    """

    __tablename__ = "records"
    __table_args__ = (
        Index(None, "kind", "deleted"),
        Index(None, "planting_id", "kind"),
        Index(None, "measuring", "seq"),
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    kind: Mapped[str] = mapped_column(String(20))
    seq: Mapped[int] = mapped_column(Integer, unique=True)
    version: Mapped[int] = mapped_column(Integer)
    deleted: Mapped[bool] = mapped_column(Boolean, default=False)
    fields: Mapped[dict[str, Any]] = mapped_column(JSON)
    field_versions: Mapped[dict[str, int]] = mapped_column(JSON)
    planting_id: Mapped[str | None] = mapped_column(String(36))
    measuring: Mapped[str | None] = mapped_column(String(10))


NOT_DELETED = func.coalesce(RecordRow.deleted, False).is_(False)
"""For queries by planting or of what waits: said so that SQLite takes their index, not that of kinds that stand."""


class PhotoFileRow(Base):
    """The bytes behind a photo record: the same bytes are kept once, whoever sends them."""

    __tablename__ = "photo_files"

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    photo_id: Mapped[str] = mapped_column(ForeignKey("records.id"), unique=True)
    suffix: Mapped[str] = mapped_column(String(8))
    bytes: Mapped[int] = mapped_column(Integer)


class RecordingFileRow(Base):
    """The bytes behind a recording, kept once like those of a photo."""

    __tablename__ = "recording_files"

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    recording_id: Mapped[str] = mapped_column(ForeignKey("records.id"), unique=True)
    suffix: Mapped[str] = mapped_column(String(8))
    bytes: Mapped[int] = mapped_column(Integer)


class MeasurementRow(Base):
    """The numbers of one photo by one method with one set of inputs; never changed, only superseded by a later row.

    ``basis_hash`` is the hash of the inputs without the method: equal ones differ by the method alone.
    """

    __tablename__ = "measurements"
    __table_args__ = (UniqueConstraint("photo_id", "inputs_hash"), Index(None, "photo_id", "seq"))

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    seq: Mapped[int] = mapped_column(Integer, unique=True)
    photo_id: Mapped[str] = mapped_column(ForeignKey("records.id"))
    planting_id: Mapped[str | None] = mapped_column(String(36))
    inputs_hash: Mapped[str] = mapped_column(String(64))
    basis_hash: Mapped[str] = mapped_column(String(64))
    method: Mapped[str] = mapped_column(String(80))
    numbers: Mapped[dict[str, Any]] = mapped_column(JSON)
    frame_polygon: Mapped[list[list[float]] | None] = mapped_column(JSON)
    frame_how: Mapped[str | None] = mapped_column(String(200))
    measured_at: Mapped[str] = mapped_column(String(40))


class ClaimRow(Base):
    """Which process has a photo to measure, by the token of its claim, until when (seconds since 1970)."""

    __tablename__ = "claims"

    photo_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    token: Mapped[str] = mapped_column(String(36))
    until_s: Mapped[float] = mapped_column(Double)


class SettingRow(Base):
    __tablename__ = "settings"

    name: Mapped[str] = mapped_column(String(60), primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class CounterRow(Base):
    """The one counter that orders everything; taking a number locks it until the transaction ends."""

    __tablename__ = "counters"

    name: Mapped[str] = mapped_column(String(20), primary_key=True)
    value: Mapped[int] = mapped_column(Integer)


class DeviceRow(Base):
    """A phone or computer that was paired. Only the hash of its key is kept."""

    __tablename__ = "devices"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    name: Mapped[str] = mapped_column(String(60))
    role: Mapped[str] = mapped_column(String(10))
    key_hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[str] = mapped_column(String(40))
    last_used_at: Mapped[str] = mapped_column(String(40))
    revoked_at: Mapped[str | None] = mapped_column(String(40))


class PairingCodeRow(Base):
    """A code that can still be used: it goes when it is used, void or over."""

    __tablename__ = "pairing_codes"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    salt: Mapped[str] = mapped_column(String(32))
    code_hash: Mapped[str] = mapped_column(String(64))
    role: Mapped[str] = mapped_column(String(10))
    expires_at: Mapped[str] = mapped_column(String(40))
    wrong_tries: Mapped[int] = mapped_column(Integer, default=0)


class WrongPairingRow(Base):
    """One wrong code, kept for as long as it counts against the address that it came from."""

    __tablename__ = "wrong_pairings"
    __table_args__ = (Index(None, "address", "tried_at"),)

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    address: Mapped[str] = mapped_column(String(60))
    tried_at: Mapped[str] = mapped_column(String(40))


class KeyedAddressRow(Base):
    """An address with a key in it that opens one thing: a trial's care calendar, or a report. Only its hash is kept."""

    __tablename__ = "keyed_addresses"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    opens: Mapped[str] = mapped_column(String(10))
    name: Mapped[str] = mapped_column(String(60))
    trial_id: Mapped[str] = mapped_column(String(36))
    key_hash: Mapped[str] = mapped_column(String(64), unique=True)
    details: Mapped[dict[str, Any]] = mapped_column(JSON)
    created_at: Mapped[str] = mapped_column(String(40))
    last_day: Mapped[str | None] = mapped_column(String(10))
    last_used_at: Mapped[str | None] = mapped_column(String(40))
    revoked_at: Mapped[str | None] = mapped_column(String(40))


class ReportCopyRow(Base):
    """A report as it was when it was shared, in one form."""

    __tablename__ = "report_copies"

    address_id: Mapped[str] = mapped_column(ForeignKey("keyed_addresses.id"), primary_key=True)
    form: Mapped[str] = mapped_column(String(10), primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)
