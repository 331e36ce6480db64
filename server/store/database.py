"""The one database of the server: Flask-SQLAlchemy's engine and session, and how each connection is set up.

SQLite runs with a write-ahead log, synchronous FULL (a commit that was answered is on the disk) and foreign
keys on. Its driver's own guessing of transactions is off: a transaction begins where SQLAlchemy says so.
"""

import sqlite3
from pathlib import Path

from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import Connection, Engine, event
from sqlalchemy.pool import ConnectionPoolEntry

from server.store.tables import UnitRow

# Rows stay readable after their transaction: reading one never starts a query of its own.
db = SQLAlchemy(metadata=UnitRow.metadata, session_options={"expire_on_commit": False})

MIGRATIONS = Path(__file__).parent / "migrations"
WAIT_FOR_WRITER_MS = 10_000

# A transaction that will write says so at once: on SQLite it then waits for its turn at the start,
# where waiting is harmless, and not in the middle, where SQLite would refuse it.
WRITING = "hubheld_writing"


@event.listens_for(Engine, "connect")
def _set_up_sqlite(connection: object, _entry: ConnectionPoolEntry) -> None:
    if not isinstance(connection, sqlite3.Connection):
        return
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={WAIT_FOR_WRITER_MS}")
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


@event.listens_for(Engine, "begin")
def _begin_sqlite(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        writing = connection.get_execution_options().get(WRITING, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")
