"""Runs the migrations on the connection that fleetlog hands over, within that connection's transaction."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=True,  # Alembic thinks SQLite has none; with an explicit BEGIN it has
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
