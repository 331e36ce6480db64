"""Open office sessions; the cookie's token is kept as a digest only."""

from sqlalchemy import delete, select

from server.store.scope import UnitScope
from server.store.tables import OfficeSession


def add(scope: UnitScope, token_sha256: str, opened_at_ms: int, expires_at_ms: int) -> None:
    """Opens a session."""
    row = {"token_sha256": token_sha256, "opened_at_ms": opened_at_ms, "expires_at_ms": expires_at_ms}
    scope.add(OfficeSession, [row])


def is_open(scope: UnitScope, token_sha256: str, now_ms: int) -> bool:
    """True while the session of this token is open."""
    row = scope.one(select(OfficeSession).where(OfficeSession.token_sha256 == token_sha256))
    return row is not None and now_ms < row.expires_at_ms


def close_all(scope: UnitScope) -> None:
    """Ends every session of the unit."""
    scope.change(delete(OfficeSession))


def close(scope: UnitScope, token_sha256: str) -> None:
    """Ends the session of this token."""
    scope.change(delete(OfficeSession).where(OfficeSession.token_sha256 == token_sha256))
