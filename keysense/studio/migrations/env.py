"""Alembic's environment: always on a connection that the studio has already opened."""

from __future__ import annotations

from alembic import context

from keysense.studio.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,  # SQLite alters tables by copying them
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
