"""Alembic's environment: it runs on the connection that prep hands it, inside that connection's transaction."""

from alembic import context

from prep.store.tables import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
