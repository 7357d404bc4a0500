"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "records",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("deleted", sa.Boolean(), nullable=False),
        sa.Column("fields", sa.JSON(), nullable=False),
        sa.Column("field_versions", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_records"),
        sa.UniqueConstraint("seq", name="uq_records_seq"),
    )
    op.create_index("ix_records_kind_deleted", "records", ["kind", "deleted"])
    op.create_table(
        "photo_files",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("photo_id", sa.String(36), nullable=False),
        sa.Column("suffix", sa.String(8), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo_files"),
        sa.UniqueConstraint("photo_id", name="uq_photo_files_photo_id"),
        sa.ForeignKeyConstraint(["photo_id"], ["records.id"], name="fk_photo_files_photo_id"),
    )
    op.create_table(
        "measurements",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("photo_id", sa.String(36), nullable=False),
        sa.Column("planting_id", sa.String(36), nullable=True),
        sa.Column("inputs_hash", sa.String(64), nullable=False),
        sa.Column("basis_hash", sa.String(64), nullable=False),
        sa.Column("method", sa.String(80), nullable=False),
        sa.Column("numbers", sa.JSON(), nullable=False),
        sa.Column("frame_polygon", sa.JSON(), nullable=True),
        sa.Column("frame_how", sa.String(200), nullable=True),
        sa.Column("measured_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_measurements"),
        sa.UniqueConstraint("seq", name="uq_measurements_seq"),
        sa.UniqueConstraint("photo_id", "inputs_hash", name="uq_measurements_photo_id_inputs_hash"),
        sa.ForeignKeyConstraint(["photo_id"], ["records.id"], name="fk_measurements_photo_id"),
    )
    op.create_index("ix_measurements_photo_id_seq", "measurements", ["photo_id", "seq"])
    op.create_table(
        "settings",
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )
    counters = op.create_table(
        "counters",
        sa.Column("name", sa.String(20), nullable=False),
        sa.Column("value", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counters"),
    )
    op.bulk_insert(counters, [{"name": "seq", "value": 0}])
