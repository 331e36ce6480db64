"""One entry of a log: a JWS whose payload names unit, device, sequence number, the entry before, and one event.

The bytes that were signed are kept as they came; nothing here writes them anew to verify them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from server.core import strict_json
from server.core.crypto import Jwk, PrivateKey, digest, from_base64url, seal, sign_jws, thumbprint, verify_jws
from server.core.errors import BrokenChain, InvalidInput, TamperedRecord

ENTRY = "hubheld-entry"
CERTIFICATE = "hubheld-certificate"
RECEIPT = "hubheld-receipt"
PIN_KEY = "hubheld-pin-key"
REQUEST = "hubheld-request"

SALT_BYTES = 16

# The character NUL: PostgreSQL's texts cannot hold it, and nothing that a person types does.
_NUL, _NUL_ESCAPED = "\x00", b"\\u0000"

_ENVELOPE = {"v": int, "unit": str, "device": str, "seq": int, "prev": str, "event": dict}
_CERTIFICATE = {"v": int, "unit": str, "device": str, "jwk": dict, "name": str, "at_ms": int}
_PIN_KEY = {"v": int, "unit": str, "device": str, "person": dict, "jwk": dict, "at_ms": int}


@dataclass(frozen=True, slots=True)
class Entry:
    """A verified entry. `digest` is the base64url SHA-256 of `jws`, which the next entry carries as `prev`."""

    jws: str
    digest: str
    device: str
    seq: int
    event: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Certificate:
    """A device's certificate, verified against the server's key."""

    jws: str
    unit: str
    device: str
    jwk: Jwk
    name: str
    at_ms: int


def build(key: PrivateKey, unit: str, device: str, seq: int, prev: str, event: Mapping[str, Any]) -> str:
    """Signs one entry and returns its JWS."""
    payload = {"v": 1, "unit": unit, "device": device, "seq": seq, "prev": prev, "event": event}
    return sign_jws(key, ENTRY, payload)


def verify(jws: str, jwk: Jwk, unit: str, device: str, seq: int, prev: str) -> Entry:
    """Verifies the entry that is to stand at `seq` behind `prev`.

    Raises InvalidInput where its form is wrong, TamperedRecord where signature or place do not fit, and BrokenChain
    where nothing is wrong but the entry before it.
    """
    data = verify_jws(jws, ENTRY, jwk)
    payload = _payload(data, _ENVELOPE, f"entry {seq}")
    for name, expected in (("v", 1), ("unit", unit), ("device", device), ("seq", seq)):
        if payload[name] != expected:
            raise TamperedRecord(f"entry {seq}: its {name} is {payload[name]!r}, expected {expected!r}")
    if payload["prev"] != prev:
        raise BrokenChain(f"entry {seq}: it stands behind {payload['prev']!r}, expected {prev!r}")
    event = payload["event"]
    if type(event.get("id")) is not str or type(event.get("type")) is not str:
        raise InvalidInput(f"entry {seq}.event", "no id or no type", "an event with id and type")
    if _NUL_ESCAPED in data and _has_nul(event):
        raise InvalidInput(f"entry {seq}.event", "the character NUL", "characters that can be read")
    return Entry(jws, digest(jws), device, seq, event)


def verify_certificate(jws: str, server_jwk: Jwk) -> Certificate:
    """Verifies a device's certificate. Raises InvalidInput or TamperedRecord."""
    payload = _payload(verify_jws(jws, CERTIFICATE, server_jwk), _CERTIFICATE, "certificate")
    jwk = payload["jwk"]
    if payload["v"] != 1 or thumbprint(jwk) != payload["device"]:
        raise TamperedRecord("the certificate names another device than its key")
    return Certificate(jws, payload["unit"], payload["device"], jwk, payload["name"], payload["at_ms"])


def read_pin_key(jws: str, server_jwk: Jwk) -> dict[str, Any]:
    """The payload of the certificate of a surgeon's key on one tablet. Raises InvalidInput or TamperedRecord."""
    payload = _payload(verify_jws(jws, PIN_KEY, server_jwk), _PIN_KEY, "pin key")
    thumbprint(payload["jwk"])
    return payload


def read_texts(texts: Iterable[Mapping[str, str]], event: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Sealed texts that came beside an entry: digest to (salt, text). Raises TamperedRecord where one does not fit."""
    found: dict[str, tuple[str, str]] = {}
    for sealed in texts:
        salt = from_base64url(sealed["salt"])
        if len(salt) != SALT_BYTES or seal(salt, sealed["text"]) != sealed["sha256"]:
            raise TamperedRecord("a text does not fit the digest that was signed for it")
        if _NUL in sealed["text"]:
            raise InvalidInput("text", "the character NUL", "characters that can be read")
        found[sealed["sha256"]] = (sealed["salt"], sealed["text"])
    if found and not found.keys() <= sealed_in(event):
        raise TamperedRecord("a text came along that this entry does not name")
    return found


def sealed_in(value: Any) -> set[str]:
    """The digests of the sealed texts that stand in an event."""
    if isinstance(value, Mapping):
        if value.keys() == {"sha256"} and isinstance(value["sha256"], str):
            return {value["sha256"]}
        return set().union(*map(sealed_in, value.values()))
    return set().union(*map(sealed_in, value)) if isinstance(value, list) else set()


def _has_nul(value: Any) -> bool:
    if isinstance(value, Mapping):
        return any(_NUL in name or _has_nul(child) for name, child in value.items())
    return any(map(_has_nul, value)) if isinstance(value, list) else isinstance(value, str) and _NUL in value


def _payload(data: bytes, members: Mapping[str, type], where: str) -> dict[str, Any]:
    """A signed payload with exactly these members: unknown ones are refused in envelopes, kept inside events."""
    payload = strict_json.parse(data)
    if type(payload) is not dict or payload.keys() != members.keys():
        raise InvalidInput(where, "other members", "exactly " + ", ".join(members))
    for name, kind in members.items():
        if type(payload[name]) is not kind:
            raise InvalidInput(f"{where}.{name}", type(payload[name]).__name__, kind.__name__)
    return payload
