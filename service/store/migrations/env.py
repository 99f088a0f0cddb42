"""Runs the migrations on the connection that the service hands over, in its transaction."""

from alembic import context

from service.store.tables import METADATA

context.configure(connection=context.config.attributes["connection"], target_metadata=METADATA, transactional_ddl=False)
context.run_migrations()
