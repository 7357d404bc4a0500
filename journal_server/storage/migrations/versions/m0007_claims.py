"""Who measures which photo, for several processes on one database."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "claims",
        sa.Column("photo_id", sa.String(36), nullable=False),
        sa.Column("token", sa.String(36), nullable=False),
        sa.Column("until_s", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("photo_id", name="pk_claims"),
    )
