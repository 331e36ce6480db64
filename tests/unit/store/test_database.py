"""The embedded database keeps what it has answered for, and its migrations make exactly the tables of the models."""

from __future__ import annotations

import sqlite3

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import JSON, BigInteger, Boolean, Text

from server.app import create_app, migrate
from server.config import in_folder
from server.store.database import WAIT_FOR_WRITER_MS, db
from server.store.tables import UnitRow
from tests.support.served_unit import served_unit


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", WAIT_FOR_WRITER_MS)],
)
def test_every_connection_is_set_up_to_lose_nothing(served, pragma, value):
    with db.engine.connect() as one, db.engine.connect() as other:
        assert {c.exec_driver_sql(f"PRAGMA {pragma}").scalar() for c in (one, other)} == {value}


def test_the_migrations_make_exactly_the_tables_of_the_models(served):
    with db.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, UnitRow.metadata) == []


def test_migrating_twice_changes_nothing(tmp_path):
    config = in_folder(tmp_path)
    for _ in range(2):
        with create_app(config).app_context():
            migrate()
            db.engine.dispose()
    with sqlite3.connect(config.data_folder / "hubheld.sqlite") as database:
        assert database.execute("SELECT count(*) FROM alembic_version").fetchone() == (1,)
    database.close()


def test_only_kinds_of_column_are_used_that_postgresql_takes_unchanged():
    kinds = {type(column.type) for table in UnitRow.metadata.sorted_tables for column in table.columns}
    assert kinds == {Text, BigInteger, Boolean, JSON}


def test_every_constraint_has_a_name_so_that_a_later_migration_can_change_it(served):
    for table in UnitRow.metadata.sorted_tables:
        assert all(constraint.name for constraint in table.constraints), table.name
        assert all(index.name for index in table.indexes), table.name


def test_the_servers_key_is_for_its_own_account_only_and_stays_the_same(tmp_path):
    config = in_folder(tmp_path / "data")
    create_app(config)
    path = config.server_key_path
    before = path.read_bytes()
    assert path.stat().st_mode & 0o777 == 0o600
    create_app(config)
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == [path.name]
