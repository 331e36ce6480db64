"""Runs the migrations on the app's own engine, with the tables of server/store/tables.py as the target."""

from alembic import context
from flask import current_app

_migrate = current_app.extensions["migrate"]

with _migrate.db.engine.connect() as connection:
    context.configure(connection=connection, target_metadata=_migrate.db.metadata, **_migrate.configure_args)
    with context.begin_transaction():
        context.run_migrations()
