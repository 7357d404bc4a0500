"""Alembic's entry: runs the steps on the connection that the journal hands over."""

from __future__ import annotations

from alembic import context

from journal_server.storage.tables import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    render_as_batch=True,
    # All steps in one transaction: SQLite can, though alembic does not take it for granted.
    transactional_ddl=True,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
connection.commit()
