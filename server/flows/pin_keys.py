"""Certifies a surgeon's key on one tablet: made there while online, never leaving it, opened by the PIN."""

from typing import Any

from server.core.crypto import Jwk, base64url, seal, sign_jws, thumbprint
from server.core.entry import PIN_KEY, REQUEST
from server.core.errors import InvalidInput
from server.flows.authority import Authority
from server.flows.intake import verified_request
from server.flows.secret import Guess, check
from server.store import log, pin_keys
from server.store.scope import reading, writing
from server.store.units import person

_MEMBERS = {"v", "purpose", "person", "pin", "key", "wall_ms"}


def certify(authority: Authority, certificate: str, request: str, jwk: Jwk, salt: bytes, now_ms: int) -> dict[str, Any]:
    """Certifies `jwk` as the key of one surgeon on one tablet. `salt`: 16 random bytes for the sealed code.

    Raises NotAllowed where code and PIN do not fit, InvalidInput or TamperedRecord for the rest.
    """
    known, said = verified_request(authority, certificate, request, REQUEST)
    key = thumbprint(jwk)
    if not isinstance(said, dict) or said.keys() != _MEMBERS or said["purpose"] != "pin-key" or said["key"] != key:
        raise InvalidInput("request", "a statement about something else", "a request for this key")
    code, pin = str(said["person"]), str(said["pin"])
    with reading(known.unit) as scope:
        found = person(scope, code)
        kept = found.pin_verifier if found is not None and found.role == "surgeon" else None
    # Counted for person and tablet: guessing on one tablet locks nobody out on another.
    check(Guess(known.unit, f"pin {known.device} {code}", now_ms), pin, kept)
    sealed = seal(salt, code)
    payload = {"v": 1, "unit": known.unit, "device": known.device, "person": {"sha256": sealed}, "jwk": jwk}
    answer = sign_jws(authority.key, PIN_KEY, {**payload, "at_ms": now_ms})
    texts = {sealed: (base64url(salt), code)}
    with writing(known.unit) as scope:
        pin_keys.put(scope, known.device, key, sealed, answer, now_ms)
        log.add_texts(scope, texts)
    # If we stop here, the key is certified and the tablet does not know: it asks again and gets another certificate.
    return {"certificate": answer, "person": {"sha256": sealed, "salt": base64url(salt), "text": code}}
