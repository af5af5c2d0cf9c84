"""Run by Alembic: the caller hands over an open connection, so that no address is read from anywhere else."""

from __future__ import annotations

from alembic import context

from service.storage.tables import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, compare_server_default=True)
with context.begin_transaction():
    context.run_migrations()
