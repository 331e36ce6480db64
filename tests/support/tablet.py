"""A tablet in memory: it enrols, keeps a signed and chained log, and uploads it through the real flows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from server.core.crypto import base64url, digest, jwk_of, seal, sign_jws, thumbprint
from server.core.entry import REQUEST, build
from server.flows import enrol, intake
from tests.support.clean_case import PLAN, STEPS
from tests.support.served_unit import FOUNDED_MS, TIME_ZONE, UNIT, ServedUnit

Json = dict[str, Any]

STEP_MS = 20_000
"""Between two taps of an operation: far enough apart to be no burst."""
PROTOCOL = "phaco-cataract@1"


class Tablet:
    """Events are added with `add` and reach the server with `send`; times are server time in ms."""

    def __init__(self, served: ServedUnit, name: str = "Tablet 1") -> None:
        self._served = served
        self.key = ec.generate_private_key(ec.SECP256R1())
        jwk = jwk_of(self.key)
        self.device = thumbprint(jwk)
        code = enrol.new_code(UNIT, FOUNDED_MS)
        claim = {"v": 1, "purpose": "enrol", "code": code, "device": self.device}
        proof = sign_jws(self.key, REQUEST, claim)
        self.certificate = enrol.enrol(served.authority, code, name, jwk, proof, FOUNDED_MS)["certificate"]
        self.entries: list[Json] = []
        self.head = digest(self.certificate)
        self._sent = 0

    def add(self, event: Mapping[str, Any], at_ms: int, ago_ms: int = 0, text: str | None = None) -> str:
        """Add one event that was tapped `ago_ms` after it happened at `at_ms`; returns its id.

        `text` is sealed beside the entry and stands in the event's field `text` by its digest.
        """
        seq = len(self.entries)
        texts = []
        whole = {"id": f"{self.device[:8]}-{seq}", **event, "clock": _clock(at_ms + ago_ms, ago_ms)}
        if text is not None:
            salt = seq.to_bytes(16, "big")
            texts = [{"sha256": seal(salt, text), "salt": base64url(salt), "text": text}]
            whole["text"] = {"sha256": texts[0]["sha256"]}
        jws = build(self.key, UNIT, self.device, seq, self.head, whole)
        self.head = digest(jws)
        self.entries.append({"jws": jws, "texts": texts})
        return str(whole["id"])

    def send(self, now_ms: int) -> str:
        """Upload what the server has not acknowledged yet; returns the receipt."""
        upload = intake.Upload(self.certificate, self._sent, self.entries[self._sent :])
        receipt = intake.take_in(self._served.authority, upload, now_ms)
        self._sent = len(self.entries)
        return receipt

    def open_case(self, date: str, reference: str, at_ms: int, **changed: Any) -> str:
        """Open a case as from a slot of the list of theatre-2; returns its id. `changed` replaces members."""
        case = f"{UNIT}_{date}_{reference}_{PLAN['eye']}"
        opened = {
            "type": "case_opened", "case": case, "list": f"{UNIT}_{date}_theatre-2",
            "slot": {"theatre": "theatre-2", "order": 1}, "date": date, "reference": reference, "plan": PLAN,
            "protocol": PROTOCOL, "unit_values": {"number": 1, "values": {}}, "unit": UNIT, "time_zone": TIME_ZONE,
            "practice": False,
        }  # fmt: skip
        self.add({**opened, **changed}, at_ms)
        return case

    def step(self, case: str, step: str, value: Json, at_ms: int, ago_ms: int = 0) -> str:
        """Record one step."""
        return self.add({"type": "step", "case": case, "step": step, "value": value}, at_ms, ago_ms)

    def room(self, case: str, moment: str, at_ms: int) -> str:
        """Record that the patient comes or leaves."""
        return self.add({"type": "room", "case": case, "moment": moment}, at_ms)

    def sign(self, case: str, at_ms: int) -> str:
        """Record a signature whose proof nobody could verify; it is one all the same."""
        return self.add({"type": "sign_off", "case": case, "statement": {}, "proof": {}}, at_ms)

    def operation(
        self, date: str, reference: str, at_ms: int, changed: Mapping[str, Json | None] | None = None, **opened: Any
    ) -> str:
        """Record a whole operation from patient-in to signature; returns the case.

        `changed` maps a step to the value it has instead of its clean one, None to leave it out.
        """
        case = self.open_case(date, reference, at_ms, **opened)
        self.room(case, "patient_in", at_ms)
        now_ms = at_ms
        for step, value in STEPS:
            now_ms += STEP_MS
            instead = (changed or {}).get(step, value)
            if instead is not None:
                self.step(case, step, instead, now_ms)
        self.sign(case, now_ms + STEP_MS)
        self.room(case, "patient_out", now_ms + 2 * STEP_MS)
        return case


def _clock(wall_ms: int, ago_ms: int) -> Json:
    return {
        "wall_ms": wall_ms, "mono_ms": 0, "boot": "one", "utc_offset_min": 0, "ago_ms": ago_ms,
        "offset_ms": 0, "offset_error_ms": 5,
    }  # fmt: skip
