"""What the measurements of the very first version rest on.

Its step 0001 had no ``basis_hash``: the column was added to that step within the hour, before the first release, and
journals of that hour stand at step 0001 all the same.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    columns = {column["name"] for column in sa.inspect(op.get_bind()).get_columns("measurements")}
    if "basis_hash" in columns:
        return
    op.add_column("measurements", sa.Column("basis_hash", sa.String(64), nullable=True))
    measurements = sa.table("measurements", sa.column("inputs_hash", sa.String), sa.column("basis_hash", sa.String))
    # Equal to no other, so that such a measurement is compared with none of another method.
    op.execute(measurements.update().values(basis_hash=measurements.c.inputs_hash))
    with op.batch_alter_table("measurements") as table:
        table.alter_column("basis_hash", existing_type=sa.String(64), nullable=False)
