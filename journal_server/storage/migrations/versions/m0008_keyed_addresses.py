"""Addresses that carry a key: those of calendars, until now in a table of their own, and those of shared reports."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

KEPT = ("id", "name", "trial_id", "key_hash", "created_at", "last_used_at", "revoked_at")


def upgrade() -> None:
    addresses = op.create_table(
        "keyed_addresses",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("opens", sa.String(10), nullable=False),
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("trial_id", sa.String(36), nullable=False),
        sa.Column("key_hash", sa.String(64), nullable=False),
        sa.Column("details", sa.JSON(), nullable=False),
        sa.Column("created_at", sa.String(40), nullable=False),
        sa.Column("last_day", sa.String(10), nullable=True),
        sa.Column("last_used_at", sa.String(40), nullable=True),
        sa.Column("revoked_at", sa.String(40), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_keyed_addresses"),
        sa.UniqueConstraint("key_hash", name="uq_keyed_addresses_key_hash"),
    )
    op.create_table(
        "report_copies",
        sa.Column("address_id", sa.String(36), nullable=False),
        sa.Column("form", sa.String(10), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["address_id"], ["keyed_addresses.id"], name="fk_report_copies_address_id"),
        sa.PrimaryKeyConstraint("address_id", "form", name="pk_report_copies"),
    )
    calendars = sa.table("calendar_keys", *(sa.column(name) for name in KEPT))
    until_now = op.get_bind().execute(sa.select(calendars)).mappings().all()
    op.bulk_insert(addresses, [{**row, "opens": "calendar", "details": {}} for row in until_now])
    op.drop_table("calendar_keys")
