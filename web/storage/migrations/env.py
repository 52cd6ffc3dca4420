"""Alembic runs this to run migrations: in the transaction that `open_database` has begun."""

from alembic import context

from web.storage.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=True,
)
context.run_migrations()
