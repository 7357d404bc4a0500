"""The files of spoken remarks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "recording_files",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("recording_id", sa.String(36), nullable=False),
        sa.Column("suffix", sa.String(8), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_recording_files"),
        sa.UniqueConstraint("recording_id", name="uq_recording_files_recording_id"),
        sa.ForeignKeyConstraint(["recording_id"], ["records.id"], name="fk_recording_files_recording_id"),
    )
