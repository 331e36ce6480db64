"""Reads what is in the database, past the server: every row of every table, for comparing two states of it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import Any

from tests.support.served_unit import ServedUnit

LOG = ("device", "log_entry", "log_fork", "sealed_text")
PROJECTED = ("projected_case", "projected_deviation", "projected_step", "projected_hub_event")


def rows(served: ServedUnit, *tables: str) -> dict[str, list[tuple[Any, ...]]]:
    """The rows of these tables, sorted; of all tables where none is named."""
    with closing(sqlite3.connect(served.config.data_folder / "hubheld.sqlite")) as database:
        names = tables or [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {name: sorted(database.execute(f"SELECT * FROM {name}"), key=repr) for name in names}  # noqa: S608
