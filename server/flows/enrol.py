"""Enrols a tablet: a one-time code from the office, a key made on the tablet, a certificate signed by the server."""

import secrets
from typing import Any

from server.core.crypto import Jwk, digest, sign_jws, thumbprint, verify_jws
from server.core.entry import CERTIFICATE, REQUEST, verify_certificate
from server.core.errors import InvalidInput, NotAllowed
from server.core.strict_json import parse
from server.flows import office_log
from server.flows.authority import Authority
from server.flows.secret import PASSES_FOR_MINUTES, fits, verifier
from server.store import enrolments, log
from server.store.scope import UnitScope, unit_names, writing

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_CHARACTERS = 10
NAME_CHARACTERS = 4
TRIES = 5
VALID_MS = 10 * 60 * 1000
_TABLET_NAME_MAX = 40
_REFUSED = "this code is not in force; ask the office for a new one"


def new_code(unit: str, now_ms: int) -> str:
    """A one-time enrolment code of 50 bits, good for ten minutes and five tries; shown as XXXXX-XXXXX."""
    with writing(unit) as scope:
        enrolments.forget_expired(scope, now_ms)
        code = _random(CODE_CHARACTERS)
        while enrolments.exists(scope, code[:NAME_CHARACTERS]):
            code = _random(CODE_CHARACTERS)
        kept = verifier(code[NAME_CHARACTERS:], PASSES_FOR_MINUTES)
        enrolments.add(scope, code[:NAME_CHARACTERS], kept, TRIES, now_ms + VALID_MS)
    return f"{code[:5]}-{code[5:]}"


def enrol(authority: Authority, code: str, name: str, jwk: Jwk, proof: str, now_ms: int) -> dict[str, Any]:
    """Redeems a code for a certificate. Raises NotAllowed for the code, InvalidInput or TamperedRecord for the key."""
    if not 1 <= len(name) <= _TABLET_NAME_MAX:
        raise InvalidInput("name", f"{len(name)} characters", f"1 to {_TABLET_NAME_MAX}")
    if not name.isprintable() or name.isspace():
        raise InvalidInput("name", ascii(name), "characters that can be read")
    device = thumbprint(jwk)
    said = parse(verify_jws(proof, REQUEST, jwk))
    if said != {"v": 1, "purpose": "enrol", "code": code, "device": device}:
        raise InvalidInput("proof", "a statement about something else", "this code and this key")
    unit = _redeem(_plain(code), now_ms)
    # If we stop here, the code is used up and no device is known: the office makes another code.
    payload = {"v": 1, "unit": unit, "device": device, "jwk": jwk, "name": name, "at_ms": now_ms}
    with writing(unit) as scope:
        certificate = _certified(scope, authority, payload, now_ms)
    # If we stop here, the device is known and has no certificate: with another code it gets the same one.
    return {"certificate": certificate, "server_jwk": authority.jwk, "unit": unit}


def _plain(code: str) -> str:
    """As typed by hand: lower case, blanks and hyphens do not matter, nor O for 0 and I or L for 1."""
    plain = code.upper().replace("-", "").replace(" ", "")
    return plain.translate(str.maketrans("OIL", "011"))


def _redeem(code: str, now_ms: int) -> str:
    name, rest = code[:NAME_CHARACTERS], code[NAME_CHARACTERS:]
    for unit in unit_names():
        with writing(unit) as scope:
            kept = enrolments.take_try(scope, name, now_ms)
        # The try is counted before the code is compared: guessing in parallel gains nothing.
        if kept is not None and fits(rest, kept):
            with writing(unit) as scope:
                if enrolments.use(scope, name, now_ms):
                    return unit
    raise NotAllowed(_REFUSED)


def _certified(scope: UnitScope, authority: Authority, payload: dict[str, Any], now_ms: int) -> str:
    """A new device's certificate; a device that is known keeps its own, which its log begins with."""
    row = log.device(scope, payload["device"])
    if row is not None:
        return row.certificate
    certificate = sign_jws(authority.key, CERTIFICATE, payload)
    log.add_device(scope, verify_certificate(certificate, authority.jwk), digest(certificate))
    event = {"type": "device_enrolled", "certificate": certificate}
    office_log.append(scope, authority, event, now_ms, office_log.Sealed())
    return certificate


def _random(characters: int) -> str:
    return "".join(secrets.choice(CROCKFORD) for _ in range(characters))
