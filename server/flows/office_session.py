"""Opens and closes the office of a unit: one passphrase until people sign in by name."""

import secrets

from server.core.crypto import digest
from server.core.errors import InvalidInput, NotAllowed
from server.flows.secret import Guess, check
from server.store import sessions
from server.store.scope import reading, writing
from server.store.units import unit as unit_row

LASTS_MS = 8 * 3600 * 1000
_NEEDED = "open the office with its passphrase first"


def open_office(unit: str, passphrase: str, now_ms: int) -> str:
    """Returns the token of a new session. Raises NotAllowed for a wrong passphrase, for an unknown unit too."""
    try:
        with reading(unit) as scope:
            kept = unit_row(scope).passphrase_verifier
    except InvalidInput:
        raise NotAllowed("the code, the PIN or the passphrase does not fit") from None
    check(Guess(unit, "office", now_ms), passphrase, kept)
    token = f"{unit}.{secrets.token_urlsafe(32)}"
    with writing(unit) as scope:
        sessions.add(scope, digest(token), now_ms, now_ms + LASTS_MS)
    return token


def unit_of(token: str | None, now_ms: int) -> str:
    """The unit whose office this token opens. Raises NotAllowed where it opens none."""
    unit = (token or "").partition(".")[0]
    try:
        with reading(unit) as scope:
            if token is not None and sessions.is_open(scope, digest(token), now_ms):
                return unit
    except InvalidInput:
        pass
    raise NotAllowed(_NEEDED)


def name_of(unit: str) -> str:
    """The unit's name as people read it."""
    with reading(unit) as scope:
        return unit_row(scope).name


def close_office(token: str) -> None:
    """Ends a session."""
    with writing(token.partition(".")[0]) as scope:
        sessions.close(scope, digest(token))
