"""Theatre lists and their slots as imported."""

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import delete, select

from server.store.scope import UnitScope
from server.store.tables import ListSlot, TheatreList


def put(scope: UnitScope, head: Mapping[str, Any], slots: Sequence[Mapping[str, Any]]) -> None:
    """Puts a whole list in the place of what stood there under its name."""
    name = head["list"]
    scope.change(delete(ListSlot).where(ListSlot.list == name))
    scope.change(delete(TheatreList).where(TheatreList.list == name))
    scope.add(TheatreList, [head])
    scope.add(ListSlot, ({**slot, "list": name} for slot in slots))


def slots(scope: UnitScope, name: str) -> Sequence[ListSlot]:
    """The slots of one list in their order, those taken off it among them."""
    return scope.values(select(ListSlot).where(ListSlot.list == name).order_by(ListSlot.order, ListSlot.eye)).all()


def between(scope: UnitScope, first: str, last: str) -> Sequence[TheatreList]:
    """The lists of the days from `first` to `last` (YYYY-MM-DD), both included."""
    wanted = (TheatreList.date >= first) & (TheatreList.date <= last)
    return scope.values(select(TheatreList).where(wanted).order_by(TheatreList.date, TheatreList.list)).all()


def slots_between(scope: UnitScope, first: str, last: str) -> Sequence[ListSlot]:
    """The slots that stand on the lists of these days."""
    lists = select(TheatreList.list).where((TheatreList.date >= first) & (TheatreList.date <= last))
    return scope.values(select(ListSlot).where(ListSlot.list.in_(lists) & ~ListSlot.withdrawn)).all()


def cases_planned(scope: UnitScope, first: str, last: str) -> set[str]:
    """The cases that are planned on the lists of these days, by the ids that tablets open them under."""
    days = {found.list: found.date for found in between(scope, first, last)}
    return {f"{scope.unit}_{days[slot.list]}_{slot.reference}_{slot.eye}" for slot in slots_between(scope, first, last)}
