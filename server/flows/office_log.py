"""The office log of a unit: what is not done on a tablet, in the same entry format, signed by the server's key."""

import secrets
from collections.abc import Mapping
from typing import Any

from server.core.crypto import base64url, digest, seal, sign_jws
from server.core.entry import CERTIFICATE, SALT_BYTES, Certificate, build, verify
from server.flows.authority import Authority
from server.store import log
from server.store.scope import UnitScope

_NAME = "office log"


def append(scope: UnitScope, authority: Authority, event: Mapping[str, Any], now_ms: int, texts: "Sealed") -> None:
    """Signs one event and adds it to the office log, in the caller's transaction. `event` has its type."""
    row = log.device(scope, authority.device)
    if row is None:
        certificate = _own_certificate(authority, scope.unit, now_ms)
        log.add_device(scope, certificate, digest(certificate.jws))
        row = log.device(scope, authority.device)
    if row is None:
        raise LookupError(authority.device)
    whole = {"id": new_id(now_ms), **event, "clock": _clock(now_ms)}
    jws = build(authority.key, scope.unit, authority.device, row.entries_held, row.head, whole)
    entry = verify(jws, authority.jwk, scope.unit, authority.device, row.entries_held, row.head)
    log.append(scope, authority.device, [entry], texts.kept, now_ms)


class Sealed:
    """Texts on their way into the office log: `seal` gives what stands in the event, `kept` what goes beside it."""

    def __init__(self) -> None:
        self.kept: dict[str, tuple[str, str]] = {}

    def seal(self, text: str) -> dict[str, str]:
        """Seals a free text or a staff code with a random salt."""
        salt = secrets.token_bytes(SALT_BYTES)
        sealed = seal(salt, text)
        self.kept[sealed] = (base64url(salt), text)
        return {"sha256": sealed}


def new_id(now_ms: int) -> str:
    """A UUID of version 7 (RFC 9562): sorted as text it is sorted by time."""
    chance = secrets.randbits(74)
    value = (now_ms << 80) | (7 << 76) | ((chance >> 62) << 64) | (2 << 62) | (chance & (2**62 - 1))
    digits = f"{value:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def _own_certificate(authority: Authority, unit: str, now_ms: int) -> Certificate:
    payload = {"v": 1, "unit": unit, "device": authority.device, "jwk": authority.jwk, "name": _NAME, "at_ms": now_ms}
    jws = sign_jws(authority.key, CERTIFICATE, payload)
    return Certificate(jws, unit, authority.device, authority.jwk, _NAME, now_ms)


def _clock(now_ms: int) -> dict[str, Any]:
    return {
        "wall_ms": now_ms,
        "mono_ms": 0,
        "boot": "server",
        "utc_offset_min": 0,
        "ago_ms": 0,
        "offset_ms": 0,
        "offset_error_ms": 0,
    }
