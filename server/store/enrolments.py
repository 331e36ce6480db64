"""One-time enrolment codes: tried a few times at most, used once."""

from sqlalchemy import delete, select, update

from server.store.scope import UnitScope
from server.store.tables import EnrolmentCode


def add(scope: UnitScope, name: str, verifier: str, tries: int, expires_at_ms: int) -> None:
    """Puts a new code in force."""
    row = {"name": name, "verifier": verifier, "tries_left": tries, "expires_at_ms": expires_at_ms}
    scope.add(EnrolmentCode, [{**row, "used_at_ms": None}])


def exists(scope: UnitScope, name: str) -> bool:
    """True where a code of this name is kept."""
    return scope.one(select(EnrolmentCode.name).where(EnrolmentCode.name == name)) is not None


def forget_expired(scope: UnitScope, now_ms: int) -> None:
    """Takes away the codes that are out of force."""
    scope.change(delete(EnrolmentCode).where(EnrolmentCode.expires_at_ms < now_ms))


def take_try(scope: UnitScope, name: str, now_ms: int) -> str | None:
    """Takes one try of a code that is in force and gives its verifier; None where there is no such code."""
    row = scope.one(select(EnrolmentCode).where(EnrolmentCode.name == name))
    if row is None or row.used_at_ms is not None or row.tries_left < 1 or now_ms > row.expires_at_ms:
        return None
    scope.change(update(EnrolmentCode).where(EnrolmentCode.name == name).values(tries_left=row.tries_left - 1))
    return row.verifier


def use(scope: UnitScope, name: str, now_ms: int) -> bool:
    """Marks a code as used; False where another device was quicker."""
    row = scope.one(select(EnrolmentCode).where(EnrolmentCode.name == name))
    if row is None or row.used_at_ms is not None:
        return False
    scope.change(update(EnrolmentCode).where(EnrolmentCode.name == name).values(used_at_ms=now_ms))
    return True
