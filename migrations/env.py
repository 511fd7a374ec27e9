"""Runs the migrations on the connection that the program hands over, in its transaction."""

from alembic import context

connection = context.config.attributes.get("connection")
if connection is None:
    message = "migrations run through `rvsmlog store init` and `rvsmlog store upgrade`"
    raise RuntimeError(message)

# The outer transaction is the caller's: either the whole upgrade is kept, or none of it.
context.configure(connection=connection, transactional_ddl=True)
context.run_migrations()
