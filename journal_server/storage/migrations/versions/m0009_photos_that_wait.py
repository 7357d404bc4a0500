"""The photos that wait to be measured, found by an index."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("records", sa.Column("measuring", sa.String(10), nullable=True))
    records = sa.table("records", sa.column("fields", sa.JSON), sa.column("measuring", sa.String))
    said = records.c.fields["measuring"].as_string()
    op.execute(records.update().values(measuring=said).where(said.is_not(None)))
    op.create_index("ix_records_measuring_seq", "records", ["measuring", "seq"])
