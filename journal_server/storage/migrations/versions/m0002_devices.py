"""Paired devices, the codes that pair them, and wrong codes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "devices",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("role", sa.String(10), nullable=False),
        sa.Column("key_hash", sa.String(64), nullable=False),
        sa.Column("created_at", sa.String(40), nullable=False),
        sa.Column("last_used_at", sa.String(40), nullable=False),
        sa.Column("revoked_at", sa.String(40), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_devices"),
        sa.UniqueConstraint("key_hash", name="uq_devices_key_hash"),
    )
    op.create_table(
        "pairing_codes",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("salt", sa.String(32), nullable=False),
        sa.Column("code_hash", sa.String(64), nullable=False),
        sa.Column("role", sa.String(10), nullable=False),
        sa.Column("expires_at", sa.String(40), nullable=False),
        sa.Column("wrong_tries", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_pairing_codes"),
    )
    op.create_table(
        "wrong_pairings",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("address", sa.String(60), nullable=False),
        sa.Column("tried_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_wrong_pairings"),
    )
    op.create_index("ix_wrong_pairings_address_tried_at", "wrong_pairings", ["address", "tried_at"])
