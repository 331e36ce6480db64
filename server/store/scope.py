"""The one place through which every query goes: a transaction bound to one unit.

`writing(unit)` and `reading(unit)` open a transaction and yield a UnitScope; all functions of store/ take it.
The session itself refuses what a scope did not send, and a scope puts `unit = …` on everything it sends,
so that a query that forgets the unit finds nothing of another unit, and one beside the scope does not run.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TypeVar, TypeVarTuple

from sqlalchemy import Delete, Insert, Result, ScalarResult, Select, Update, event, insert, select
from sqlalchemy.exc import DBAPIError, OperationalError, ProgrammingError
from sqlalchemy.orm import ORMExecuteState, Session, with_loader_criteria

from server.core.errors import InvalidInput, RetryLater
from server.store.database import WRITING, db
from server.store.tables import Unit, UnitRow

Columns = TypeVarTuple("Columns")
Value = TypeVar("Value")
Table = TypeVar("Table", bound=UnitRow)

_SENT_BY_SCOPE = "sent_by_unit_scope"


class UnitScope:
    """One open transaction of one unit."""

    def __init__(self, unit: str, session: Session) -> None:
        self.unit = unit
        self._session = session
        self._only_this_unit = with_loader_criteria(
            UnitRow, lambda table: table.unit == unit, include_aliases=True, propagate_to_loaders=True
        )

    def rows(self, statement: Select[*Columns]) -> Result[*Columns]:
        """The rows of this unit that `statement` selects."""
        return self._session.execute(self._bound(statement), execution_options=self._mark())

    def values(self, statement: Select[Value]) -> ScalarResult[Value]:
        """The single column, or the objects, of this unit that `statement` selects."""
        return self._session.scalars(self._bound(statement), execution_options=self._mark())

    def one(self, statement: Select[Value]) -> Value | None:
        """The only row of this unit that `statement` selects, or None."""
        return self.values(statement).one_or_none()

    def change(self, statement: Update | Delete) -> None:
        """Changes or deletes rows of this unit."""
        bound = statement.options(self._only_this_unit).where(statement.entity_description["entity"].unit == self.unit)
        options = {**self._mark(), "synchronize_session": False}
        self._session.execute(bound, execution_options=options)

    def add(self, table: type[Table], rows: Iterable[Mapping[str, object]]) -> None:
        """Adds rows to `table` under this unit. A row whose key is already there raises IntegrityError."""
        of_unit = [{**row, "unit": self.unit} for row in rows]
        if of_unit:
            self._session.execute(insert(table), of_unit, execution_options=self._mark())

    def _bound(self, statement: Select[*Columns]) -> Select[*Columns]:
        return statement.options(self._only_this_unit)

    def _mark(self) -> dict[str, object]:
        return {_SENT_BY_SCOPE: self.unit, "populate_existing": True}


@event.listens_for(Session, "do_orm_execute")
def _refuse_beside_scope(state: ORMExecuteState) -> None:
    unit = state.execution_options.get(_SENT_BY_SCOPE)
    if unit is None or not (state.is_orm_statement or isinstance(state.statement, Insert)):
        raise RuntimeError("a query beside the unit scope; send it through UnitScope")


@contextmanager
def _transaction(unit: str, writes: bool) -> Iterator[UnitScope]:
    session = db.session()
    try:
        with session.begin():
            session.connection(execution_options={WRITING: writes})
            yield UnitScope(unit, session)
    except OperationalError as problem:
        # Nothing of this transaction was kept; the sender still has it and sends it again.
        raise _not_now(problem) from problem
    finally:
        session.expunge_all()


def _not_now(problem: DBAPIError) -> RetryLater:
    return RetryLater(f"the database did not take it now ({problem.orig}); a new one needs: hubheld migrate")


@contextmanager
def reading(unit: str) -> Iterator[UnitScope]:
    """A transaction that only reads. Raises InvalidInput when there is no such unit."""
    with _transaction(unit, writes=False) as scope:
        _known_unit(scope, for_update=False)
        yield scope


@contextmanager
def writing(unit: str) -> Iterator[UnitScope]:
    """A transaction that writes: all of it is kept, or nothing. One at a time for each unit.

    Raises InvalidInput when there is no such unit, RetryLater when the database cannot take it now.
    """
    with _transaction(unit, writes=True) as scope:
        _known_unit(scope, for_update=True)
        yield scope


@contextmanager
def founding(unit: str) -> Iterator[UnitScope]:
    """A transaction that writes and in which the unit's own row may still be missing."""
    with _transaction(unit, writes=True) as scope:
        yield scope


def _known_unit(scope: UnitScope, for_update: bool) -> None:
    # The lock on the unit's row makes PostgreSQL take writers of one unit in turn; SQLite takes all in turn.
    statement = select(Unit.unit)
    if scope.one(statement.with_for_update() if for_update else statement) is None:
        raise InvalidInput("unit", f'"{scope.unit}"', "a unit that this server knows")


def unit_names() -> Sequence[str]:
    """The names of all units, sorted: the one query that is not about one unit; it tells no more than names."""
    session = db.session()
    try:
        with session.begin():
            found = session.scalars(select(Unit.unit).order_by(Unit.unit), execution_options={_SENT_BY_SCOPE: ""})
            return found.all()
    except (OperationalError, ProgrammingError) as problem:
        raise _not_now(problem) from problem
