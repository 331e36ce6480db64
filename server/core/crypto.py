"""Digests and signatures: SHA-256, ECDSA P-256 as JWS ES256 (RFC 7515, RFC 7518) and thumbprints (RFC 7638).

The only module of the core that imports a library beyond the standard one.
"""

import base64
import hashlib
import json
import re
from functools import lru_cache
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature, encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

from server.core.canonical import canonical
from server.core.errors import InvalidInput, TamperedRecord

Jwk = dict[str, str]
PrivateKey = ec.EllipticCurvePrivateKey

_SCALAR_BYTES = 32
_URL_SAFE = re.compile(r"[A-Za-z0-9_-]*")
_JWS = re.compile(r"([A-Za-z0-9_-]+)\.([A-Za-z0-9_-]+)\.([A-Za-z0-9_-]{86})")
_ECDSA = ec.ECDSA(SHA256())


def base64url(data: bytes) -> str:
    """Base64url without padding (RFC 7515 section 2)."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def from_base64url(text: str) -> bytes:
    """The bytes of base64url text without padding. Raises InvalidInput for any other spelling of them."""
    if _URL_SAFE.fullmatch(text) and len(text) % 4 != 1:
        data = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        if base64url(data) == text:
            return data
    raise InvalidInput("base64url", "other characters or loose bits", "base64url without padding")


def digest(text: str) -> str:
    """Base64url SHA-256 over the UTF-8 bytes of `text`."""
    return base64url(hashlib.sha256(text.encode()).digest())


def seal(salt: bytes, text: str) -> str:
    """How a free text or a staff code stands in signed payloads: base64url SHA-256 of a 16-byte salt and the text."""
    return base64url(hashlib.sha256(salt + text.encode()).digest())


def jwk_of(key: PrivateKey) -> Jwk:
    """The public half as a JWK."""
    numbers = key.public_key().public_numbers()
    x, y = (base64url(part.to_bytes(_SCALAR_BYTES, "big")) for part in (numbers.x, numbers.y))
    return {"kty": "EC", "crv": "P-256", "x": x, "y": y}


def thumbprint(jwk: Jwk) -> str:
    """RFC 7638 thumbprint of a P-256 public key. Raises InvalidInput where `jwk` is not one."""
    _public_key(*_point(jwk))
    return base64url(hashlib.sha256(canonical({"crv": "P-256", "kty": "EC", "x": jwk["x"], "y": jwk["y"]})).digest())


def sign_raw(key: PrivateKey, message: bytes) -> str:
    """Base64url of the 64-byte signature r || s over `message` (RFC 7518 section 3.4)."""
    r, s = decode_dss_signature(key.sign(message, _ECDSA))
    return base64url(r.to_bytes(_SCALAR_BYTES, "big") + s.to_bytes(_SCALAR_BYTES, "big"))


def verify_raw(jwk: Jwk, message: bytes, signature: str) -> None:
    """Raises TamperedRecord unless `signature` is the key holder's signature over `message`."""
    raw = from_base64url(signature)
    if len(raw) != 2 * _SCALAR_BYTES:
        raise TamperedRecord("the signature is not 64 bytes long")
    r, s = (int.from_bytes(half, "big") for half in (raw[:_SCALAR_BYTES], raw[_SCALAR_BYTES:]))
    try:
        _public_key(*_point(jwk)).verify(encode_dss_signature(r, s), message, _ECDSA)
    except InvalidSignature:
        raise TamperedRecord("the signature does not fit the key and the content") from None


def sign_jws(key: PrivateKey, typ: str, payload: object) -> str:
    """A compact JWS over the canonical bytes of `payload`."""
    signed = f"{_header(typ)}.{base64url(canonical(payload))}"
    return f"{signed}.{sign_raw(key, signed.encode())}"


def jws_payload(jws: str, typ: str) -> bytes:
    """The payload bytes of a compact JWS of this `typ`, nothing verified. Raises InvalidInput where it is none."""
    parts = _JWS.fullmatch(jws)
    if parts is None or parts[1] != _header(typ):
        raise InvalidInput("jws", "another form or header", f"a compact JWS ES256 of type {typ}")
    return from_base64url(parts[2])


def verify_jws(jws: str, typ: str, jwk: Jwk) -> bytes:
    """The payload bytes of a compact JWS. Raises InvalidInput for its form, TamperedRecord for its signature."""
    payload = jws_payload(jws, typ)
    signed, _, signature = jws.rpartition(".")
    verify_raw(jwk, signed.encode(), signature)
    return payload


@lru_cache(maxsize=64)
def _header(typ: str) -> str:
    return base64url(canonical({"alg": "ES256", "typ": typ}))


def _point(jwk: Any) -> tuple[str, str]:
    is_p256 = type(jwk) is dict and jwk.get("kty") == "EC" and jwk.get("crv") == "P-256"
    if not is_p256 or type(jwk.get("x")) is not str or type(jwk.get("y")) is not str:
        raise InvalidInput("jwk", json.dumps(jwk)[:80], "a P-256 public key as JWK")
    return jwk["x"], jwk["y"]


@lru_cache(maxsize=4096)
def _public_key(x: str, y: str) -> ec.EllipticCurvePublicKey:
    coordinates = [from_base64url(part) for part in (x, y)]
    if any(len(part) != _SCALAR_BYTES for part in coordinates):
        raise InvalidInput("jwk", "coordinates of another length", "32 bytes each")
    x_number, y_number = (int.from_bytes(part, "big") for part in coordinates)
    try:
        return ec.EllipticCurvePublicNumbers(x_number, y_number, ec.SECP256R1()).public_key()
    except ValueError:
        raise InvalidInput("jwk", "a point that is not on the curve", "a P-256 public key") from None
