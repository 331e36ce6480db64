"""Units, their values and settings, and what a tablet is given to work with."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import select, update

from server.store.scope import UnitScope
from server.store.tables import Device, Person, Unit, UnitSettings, UnitValues


def unit(scope: UnitScope) -> Unit:
    """The unit's own row."""
    found = scope.one(select(Unit))
    if found is None:
        raise LookupError(scope.unit)
    return found


def exists(scope: UnitScope) -> bool:
    """True where the unit has been founded."""
    return scope.one(select(Unit.unit)) is not None


def found(scope: UnitScope, row: Mapping[str, Any]) -> None:
    """Adds the unit's own row."""
    scope.add(Unit, [row])


def set_passphrase(scope: UnitScope, verifier: str) -> None:
    """Puts another passphrase in force for the office."""
    scope.change(update(Unit).values(passphrase_verifier=verifier))


def time_zone(scope: UnitScope) -> str:
    """The unit's time zone by its IANA name."""
    return unit(scope).time_zone


def latest_values(scope: UnitScope) -> tuple[int, dict[str, Any]]:
    """Number and content of the unit's values in force; number 0 and nothing where none were published."""
    row = scope.one(select(UnitValues).order_by(UnitValues.number.desc()).limit(1))
    return (0, {}) if row is None else (row.number, dict(row.values))


def values_numbered(scope: UnitScope, numbers: Iterable[int]) -> dict[int, dict[str, Any]]:
    """The unit's values under each of these numbers, as far as they were published."""
    rows = scope.values(select(UnitValues).where(UnitValues.number.in_(sorted(numbers))))
    return {row.number: dict(row.values) for row in rows}


def latest_settings(scope: UnitScope) -> tuple[int, dict[str, Any]]:
    """Number and content of the unit's settings in force; number 0 and nothing where none were published."""
    row = scope.one(select(UnitSettings).order_by(UnitSettings.number.desc()).limit(1))
    return (0, {}) if row is None else (row.number, dict(row.settings))


def add_values(scope: UnitScope, number: int, values: Mapping[str, Any], at_ms: int) -> None:
    """Publishes the unit's values, whole, under the next number."""
    scope.add(UnitValues, [{"number": number, "values": dict(values), "published_at_ms": at_ms}])


def add_settings(scope: UnitScope, number: int, settings: Mapping[str, Any], at_ms: int) -> None:
    """Publishes the unit's settings, whole, under the next number."""
    scope.add(UnitSettings, [{"number": number, "settings": dict(settings), "published_at_ms": at_ms}])


def people(scope: UnitScope) -> Sequence[Person]:
    """Everybody of the unit, by code."""
    return scope.values(select(Person).order_by(Person.code)).all()


def person(scope: UnitScope, code: str) -> Person | None:
    """One member of staff, or None."""
    return scope.one(select(Person).where(Person.code == code))


def add_person(scope: UnitScope, row: Mapping[str, Any]) -> None:
    """Adds a member of staff."""
    scope.add(Person, [row])


def devices(scope: UnitScope) -> Sequence[Device]:
    """Every device of the unit, the office log's own among them."""
    return scope.values(select(Device).order_by(Device.device)).all()
