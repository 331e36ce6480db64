"""No query sees another unit's rows, not even one that forgets to ask for its own, and none runs beside the scope."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from sqlalchemy import delete, func, insert, select, text, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import aliased

from server.core.errors import InvalidInput, RetryLater
from server.flows.units import found_unit
from server.store import scope as scope_module
from server.store.database import db
from server.store.scope import founding, reading, unit_names, writing
from server.store.tables import GuessLimit, Person, Unit, UnitRow
from tests.support.faulty_database import failing_statement
from tests.support.served_unit import FOUNDED_MS, PHRASE, TIME_ZONE, UNIT, served_unit

OTHER = "south-eye"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        found_unit(unit.authority, OTHER, "South eye unit (invented)", TIME_ZONE, PHRASE, FOUNDED_MS)
        for name in (UNIT, OTHER):
            with writing(name) as scope:
                scope.add(GuessLimit, [{"secret": "same", "failures": 1, "closed_until_ms": 0}])
        yield unit


def failures(unit):
    with reading(unit) as scope:
        return scope.values(select(GuessLimit.failures)).all()


@pytest.mark.usefixtures("served")
class TestUnits:
    """Each query below forgets the unit on purpose."""

    def test_a_select_finds_its_own_rows_only(self):
        with reading(UNIT) as scope:
            assert [row.unit for row in scope.values(select(Unit))] == [UNIT]
            assert scope.rows(select(GuessLimit.unit, GuessLimit.secret)).all() == [(UNIT, "same")]
            assert scope.one(select(func.count(GuessLimit.secret))) == 1

    def test_joins_aliases_and_subqueries_find_their_own_rows_only(self):
        other = aliased(GuessLimit)
        with reading(UNIT) as scope:
            joined = select(GuessLimit.unit, other.unit).join(other, GuessLimit.secret == other.secret)
            assert scope.rows(joined).all() == [(UNIT, UNIT)]
            inner = select(GuessLimit.unit).where(GuessLimit.failures == 1)
            assert scope.values(select(Unit.unit).where(Unit.unit.in_(inner))).all() == [UNIT]

    def test_even_asking_for_another_unit_finds_nothing(self):
        with reading(UNIT) as scope:
            assert scope.values(select(Unit).where(Unit.unit == OTHER)).all() == []

    def test_a_change_without_a_condition_changes_its_own_rows_only(self):
        with writing(UNIT) as scope:
            scope.change(update(GuessLimit).values(failures=7))
        assert (failures(UNIT), failures(OTHER)) == ([7], [1])
        with writing(UNIT) as scope:
            scope.change(delete(GuessLimit))
        assert (failures(UNIT), failures(OTHER)) == ([], [1])

    def test_a_row_is_added_under_its_own_unit_whatever_it_says(self):
        with writing(UNIT) as scope:
            scope.add(GuessLimit, [{"unit": OTHER, "secret": "new", "failures": 2, "closed_until_ms": 0}])
        assert (sorted(failures(UNIT)), failures(OTHER)) == ([1, 2], [1])

    @pytest.mark.parametrize(
        "statement",
        [
            select(Unit), select(Unit.__table__), text("SELECT * FROM unit"), delete(GuessLimit),
            update(Unit).values(name="x"), insert(GuessLimit).values(unit=OTHER, failures=1),
        ],
        ids=["select", "select from a table", "text", "delete", "update", "insert"],
    )  # fmt: skip
    def test_a_query_beside_the_scope_does_not_run(self, statement):
        with pytest.raises(RuntimeError, match="beside the unit scope"):
            db.session.execute(statement)

    def test_a_query_that_no_criterion_can_be_put_on_does_not_run(self):
        with pytest.raises(RuntimeError, match="beside the unit scope"), reading(UNIT) as scope:
            scope.rows(select(Unit.__table__.c.unit))

    def test_there_is_no_reading_or_writing_of_an_unknown_unit(self):
        for opened in (reading, writing):
            with pytest.raises(InvalidInput), opened("nowhere"):
                pass

    def test_all_names_of_units_can_be_listed_and_nothing_else_of_them(self):
        assert list(unit_names()) == [UNIT, OTHER]


def test_nothing_but_the_scope_uses_the_session_and_nothing_else_a_connection_of_its_own():
    server = Path(scope_module.__file__).parents[1]
    found = {
        (path.relative_to(server).as_posix(), word)
        for path in server.rglob("*.py")
        for word in re.findall(r"\bdb\.(\w+)", path.read_text())
    }
    assert found == {
        ("app.py", "init_app"),
        ("store/scope.py", "session"),
        ("store/migrations/env.py", "engine"),
        ("store/migrations/env.py", "metadata"),
    }


def test_every_tables_key_begins_with_the_unit():
    tables = UnitRow.metadata.sorted_tables
    assert len(tables) > 15
    assert {next(iter(table.primary_key.columns)).name for table in tables} == {"unit"}
    assert {next(iter(table.columns)).name for table in tables} == {"unit"}


def test_what_is_written_is_kept_whole_or_not_at_all(served):
    def change_and_add_what_is_there():
        with writing(UNIT) as scope:
            scope.change(update(GuessLimit).values(failures=9))
            scope.add(GuessLimit, [{"secret": "same", "failures": 1, "closed_until_ms": 0}])

    with pytest.raises(IntegrityError):
        change_and_add_what_is_there()
    assert failures(UNIT) == [1]


def test_a_database_that_cannot_now_says_so_and_can_later(served):
    with failing_statement(db.engine, 1), pytest.raises(RetryLater), writing(UNIT) as scope:
        scope.change(update(GuessLimit).values(failures=9))
    assert failures(UNIT) == [1]


def test_rows_stay_readable_after_their_transaction(served):
    with founding(UNIT) as scope:
        scope.add(
            Person, [{"code": "SU1", "role": "surgeon", "sealed_sha256": "s", "pin_verifier": None, "added_at_ms": 1}]
        )
    with reading(UNIT) as scope:
        person = scope.one(select(Person))
    assert (person.code, person.pin_verifier) == ("SU1", None)
