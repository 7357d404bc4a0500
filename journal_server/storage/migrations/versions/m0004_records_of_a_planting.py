"""The records of a planting, found by an index."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("records", sa.Column("planting_id", sa.String(36), nullable=True))
    records = sa.table("records", sa.column("fields", sa.JSON), sa.column("planting_id", sa.String))
    named = records.c.fields["planting_id"].as_string()
    op.execute(records.update().values(planting_id=named).where(named.is_not(None)))
    op.create_index("ix_records_planting_id_kind", "records", ["planting_id", "kind"])
