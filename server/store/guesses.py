"""Wrong guesses of secrets, counted in the database so that a restart forgets none."""

from sqlalchemy import select, update

from server.store.scope import UnitScope
from server.store.tables import GuessLimit


def read(scope: UnitScope, secret: str) -> tuple[int, int]:
    """Wrong guesses in a row, and until when (ms) guessing is closed."""
    row = scope.one(select(GuessLimit).where(GuessLimit.secret == secret))
    return (0, 0) if row is None else (row.failures, row.closed_until_ms)


def write(scope: UnitScope, secret: str, failures: int, closed_until_ms: int) -> None:
    """Keeps the number of wrong guesses and until when guessing is closed."""
    if scope.one(select(GuessLimit.secret).where(GuessLimit.secret == secret)) is None:
        scope.add(GuessLimit, [{"secret": secret, "failures": failures, "closed_until_ms": closed_until_ms}])
        return
    change = update(GuessLimit).where(GuessLimit.secret == secret)
    scope.change(change.values(failures=failures, closed_until_ms=closed_until_ms))
