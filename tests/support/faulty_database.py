"""Makes the database fail at a chosen moment, as a full disk or a lost connection would."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Engine, event
from sqlalchemy.exc import OperationalError

FAULT = "disk I/O error"


@contextmanager
def failing_statement(engine: Engine, number: int) -> Iterator[list[str]]:
    """Statement `number` (from 0) and every later one fail before they do anything; yields the statements so far."""
    seen: list[str] = []

    def before(connection: Any, cursor: Any, statement: str, *_: Any) -> None:
        seen.append(statement)
        if len(seen) > number:
            raise OperationalError(statement, None, sqlite3.OperationalError(FAULT))

    event.listen(engine, "before_cursor_execute", before)
    try:
        yield seen
    finally:
        event.remove(engine, "before_cursor_execute", before)


@contextmanager
def failing_commit(engine: Engine, persists: bool) -> Iterator[None]:
    """Every commit fails: before anything is on the disk, or (`persists`) after all of it is."""
    dialect = engine.dialect
    commit = dialect.do_commit

    def fail(connection: Any) -> None:
        if persists:
            commit(connection)
        else:
            dialect.do_rollback(connection)
        raise sqlite3.OperationalError(FAULT)

    vars(dialect)["do_commit"] = fail
    try:
        yield
    finally:
        del dialect.do_commit
