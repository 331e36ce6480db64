"""Secrets that people type: made from chance, kept only as slow verifiers, closed for a while after wrong ones."""

import hashlib
import hmac
import secrets
from dataclasses import dataclass

from server.core.crypto import base64url, from_base64url
from server.core.errors import NotAllowed, TooManyTries
from server.store import guesses
from server.store.scope import writing

# scrypt at 16 MiB with five passes, a setting of the OWASP password storage cheat sheet: about 150 ms a guess on a
# server core. A one-time code is out of force after ten minutes: one pass is enough for it.
_COST, _BLOCK, _LENGTH = 2**14, 8, 32
PASSES, PASSES_FOR_MINUTES = 5, 1
_WRONG_FREE = 5
_CLOSED_FIRST_MS = 60_000
_CLOSED_MOST_MS = 3_600_000


@dataclass(frozen=True, slots=True)
class Guess:
    """One attempt at a secret of a unit. `secret` names it, e.g. the office or one PIN on one tablet."""

    unit: str
    secret: str
    now_ms: int


def verifier(secret: str, passes: int = PASSES) -> str:
    """What is kept of a secret: number of passes, a random salt and a slow hash."""
    salt = secrets.token_bytes(16)
    return f"{passes}.{base64url(salt)}.{base64url(_slow(secret, salt, passes))}"


def fits(secret: str, kept: str | None) -> bool:
    """True where `secret` is the one that was kept; takes as long where nothing is kept."""
    passes, salt, expected = (kept or f"{PASSES}.{base64url(bytes(16))}.").split(".")
    found = _slow(secret, from_base64url(salt), int(passes))
    return hmac.compare_digest(found, from_base64url(expected)) and kept is not None


def check(guess: Guess, secret: str, kept: str | None) -> None:
    """Raises NotAllowed for a wrong secret, TooManyTries for any while guessing is closed.

    After five wrong ones guessing is closed for a minute, then twice as long each time, an hour at most.
    """
    with writing(guess.unit) as scope:
        failures, closed_until_ms = guesses.read(scope, guess.secret)
        if guess.now_ms < closed_until_ms:
            raise TooManyTries(wait_s=-(-(closed_until_ms - guess.now_ms) // 1000))
        # The failure is written before the answer is known: an interrupted attempt counts as a wrong one.
        guesses.write(scope, guess.secret, failures + 1, _closed_until_ms(failures + 1, guess.now_ms))
    if not fits(secret, kept):
        raise NotAllowed("the code, the PIN or the passphrase does not fit")
    with writing(guess.unit) as scope:
        guesses.write(scope, guess.secret, 0, 0)


def _closed_until_ms(failures: int, now_ms: int) -> int:
    if failures < _WRONG_FREE:
        return 0
    doublings = min(failures - _WRONG_FREE, 10)
    return now_ms + int(min(_CLOSED_FIRST_MS * 2**doublings, _CLOSED_MOST_MS))


def _slow(secret: str, salt: bytes, passes: int) -> bytes:
    return hashlib.scrypt(secret.encode(), salt=salt, n=_COST, r=_BLOCK, p=passes, dklen=_LENGTH)
