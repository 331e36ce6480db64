"""A simulated tablet: keeps a signed log as a real one does and brings it in through the real upload.

Uses the server's core for entries and signatures, and HTTP for everything else. What a tablet's clock would
say is handed in, so that past weeks can be told.
"""

import json
import urllib.error
import urllib.request
from collections.abc import Mapping
from dataclasses import dataclass, field
from random import Random
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from server.core.canonical import canonical
from server.core.case_file import read
from server.core.case_fold import fold
from server.core.crypto import Jwk, base64url, digest, jwk_of, seal, sign_jws, sign_raw, thumbprint, verify_jws
from server.core.entry import RECEIPT, REQUEST, SALT_BYTES, build
from server.core.judge.judge import judge
from server.core.log_events import LogEvent
from server.core.protocol import Protocol
from server.core.statement import answers_of, statement

ENTRIES_A_BATCH = 400
BYTES_A_BATCH = 900_000
BOOT = "0123456789abcdef"

Json = dict[str, Any]


class Refused(Exception):
    """The server answered with a problem."""

    def __init__(self, status: int, problem: Json) -> None:
        super().__init__(f"{status} {problem.get('title')}: {problem.get('detail')}")
        self.status = status
        self.problem = problem


@dataclass(frozen=True, slots=True)
class PinKey:
    """A surgeon's key on this tablet, certified by the server."""

    key: ec.EllipticCurvePrivateKey
    certificate: str


@dataclass(slots=True)
class Tablet:
    """One simulated tablet. `received` entries have a receipt; the rest of `log` is still to be sent."""

    address: str
    chance: Random
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    unit: str = ""
    certificate: str = ""
    server_jwk: Jwk = field(default_factory=dict)
    log: list[LogEvent] = field(default_factory=list)
    sent: list[Json] = field(default_factory=list)
    received: int = 0
    pin_keys: dict[str, PinKey] = field(default_factory=dict)

    @property
    def device(self) -> str:
        """The thumbprint of this tablet's key."""
        return thumbprint(jwk_of(self.key))

    def enrol(self, code: str, name: str) -> None:
        """Redeems a one-time code and pins the server's key."""
        said = {"v": 1, "purpose": "enrol", "code": code, "device": self.device}
        proof = sign_jws(self.key, REQUEST, said)
        body = {"code": code, "name": name, "jwk": jwk_of(self.key), "proof": proof}
        answer = self.post("/api/v1/enrolments", body)
        self.certificate, self.server_jwk, self.unit = answer["certificate"], answer["server_jwk"], answer["unit"]

    def pull(self, wall_ms: int) -> Json:
        """Lists, values, settings and people of the unit."""
        request = sign_jws(self.key, REQUEST, {"v": 1, "purpose": "pull", "wall_ms": wall_ms})
        return self.post("/api/v1/pull", {"certificate": self.certificate, "request": request})

    def make_pin_key(self, code: str, pin: str, wall_ms: int) -> None:
        """Makes a surgeon's key here and has it certified."""
        key = ec.generate_private_key(ec.SECP256R1())
        said = {"v": 1, "purpose": "pin-key", "person": code, "pin": pin, "key": thumbprint(jwk_of(key))}
        request = sign_jws(self.key, REQUEST, {**said, "wall_ms": wall_ms})
        body = {"certificate": self.certificate, "request": request, "jwk": jwk_of(key)}
        self.pin_keys[code] = PinKey(key, self.post("/api/v1/pin-keys", body)["certificate"])

    def record(self, event: Mapping[str, Any], wall_ms: int, ago_s: int = 0, text: str | None = None) -> Json:
        """Adds one event to the log, as tapped at `wall_ms`; a free text is sealed."""
        texts: list[dict[str, str]] = []
        whole = {"id": self._id(wall_ms), **event, "clock": _clock(wall_ms, ago_s)}
        if text is not None:
            whole["text"] = self._seal(text, texts)
        prev = self.log[-1].digest if self.log else digest(self.certificate)
        jws = build(self.key, self.unit, self.device, len(self.log), prev, whole)
        opened = {sealed["sha256"]: sealed["text"] for sealed in texts}
        self.log.append(LogEvent(self.device, len(self.log), digest(jws), whole, opened))
        self.sent.append({"jws": jws, "texts": texts})
        return whole

    def sign(self, case: str, code: str, wall_ms: int, protocol: Protocol) -> Json:
        """The surgeon's signature over the case as this tablet has it."""
        folded = fold(self.log, case, protocol)
        judgement = judge(read(folded.case_file, protocol), protocol, without_sign_off=True)
        answers = answers_of((folded.case_file or {})["events"])
        said = statement(self.unit, folded.meta, judgement, answers, protocol.name)
        pin_key = self.pin_keys[code]
        proof = {"kind": "pin", "certificate": pin_key.certificate}
        proof["signature"] = sign_raw(pin_key.key, canonical(said))
        return self.record({"type": "sign_off", "case": case, "statement": said, "proof": proof}, wall_ms)

    def upload(self) -> None:
        """Sends everything that has no receipt yet, batch by batch; only a receipt counts."""
        while self.received < len(self.sent):
            batch: list[Json] = []
            size = 0
            for item in self.sent[self.received : self.received + ENTRIES_A_BATCH]:
                size += len(json.dumps(item))
                if batch and size > BYTES_A_BATCH:
                    break
                batch.append(item)
            body = {"certificate": self.certificate, "from": self.received, "entries": batch}
            self.take_receipt(self.post("/api/v1/logs/entries", body)["receipt"])

    def take_receipt(self, receipt: str) -> Json:
        """Believes only what the pinned key signed about this log."""
        said: Json = json.loads(verify_jws(receipt, RECEIPT, self.server_jwk))
        held = self.log[said["n"] - 1].digest if said["n"] else digest(self.certificate)
        if said["unit"] != self.unit or said["device"] != self.device or said["head"] != held:
            raise ValueError("the receipt is about another log")
        self.received = said["n"]
        return said

    def post(self, path: str, body: Json) -> Json:
        """Posts JSON. Raises Refused with the problem that the server answered."""
        if not self.address.startswith("http://"):
            raise ValueError(self.address)
        data = json.dumps(body).encode()
        request = urllib.request.Request(self.address + path, data, {"Content-Type": "application/json"})  # noqa: S310
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        try:
            with opener.open(request, timeout=60) as response:
                answer: Json = json.load(response)
        except urllib.error.HTTPError as problem:
            with problem:
                raise Refused(problem.code, json.load(problem)) from None
        return answer

    def _seal(self, text: str, texts: list[dict[str, str]]) -> dict[str, str]:
        salt = self.chance.randbytes(SALT_BYTES)
        sealed = seal(salt, text)
        texts.append({"sha256": sealed, "salt": base64url(salt), "text": text})
        return {"sha256": sealed}

    def _id(self, wall_ms: int) -> str:
        """A UUID of version 7 (RFC 9562)."""
        value = (wall_ms << 80) | (7 << 76) | (self.chance.getrandbits(12) << 64) | (2 << 62)
        digits = f"{value | self.chance.getrandbits(62):032x}"
        return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def _clock(wall_ms: int, ago_s: int) -> Json:
    return {
        "wall_ms": wall_ms,
        "mono_ms": wall_ms % 10_000_000,
        "boot": BOOT,
        "utc_offset_min": 0,
        "ago_ms": 1000 * ago_s,
        "offset_ms": 0,
        "offset_error_ms": 20,
    }
