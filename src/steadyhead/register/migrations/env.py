"""How Alembic runs our steps: on the connection it is handed, in one transaction."""

from __future__ import annotations

from alembic import context

from steadyhead.register.tables import METADATA

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=METADATA, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
