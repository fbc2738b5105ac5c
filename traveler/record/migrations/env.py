"""Run by Alembic with the connection that the store has opened; no configuration file, no second engine."""

from __future__ import annotations

from alembic import context

from traveler.record.tables import metadata

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=metadata,
    render_as_batch=True,  # SQLite alters a table by building it anew
)
with context.begin_transaction():
    context.run_migrations()
