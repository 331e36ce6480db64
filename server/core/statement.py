"""The surgeon's statement: what is signed at case end, and whether a signature proves it.

The RFC 8785 bytes of one statement are signed: the case, the sorted digests of its entries, the deviations with
the surgeon's answers, the protocol version and the number of the unit's values.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from server.core import strict_json
from server.core.canonical import canonical
from server.core.case_fold import CaseMeta
from server.core.crypto import Jwk, thumbprint, verify_jws, verify_raw
from server.core.entry import PIN_KEY
from server.core.errors import HubheldError
from server.core.judge.deviation import Deviation, Judgement

Json = dict[str, Any]

_ANSWERS = ("happened", "reached_eye", "done", "harm", "aftercare", "told", "report")


def answers_of(events: Sequence[Mapping[str, Any]]) -> dict[str, Json]:
    """For each deviation's key the surgeon's last answer that was not voided, with the grade it was given for."""
    voided = {event["corrects"] for event in events if event["type"] == "correct" and "void" in event}
    answers: dict[str, Json] = {}
    given = [event for event in events if event["type"] == "answer" and event["id"] not in voided]
    for event in sorted(given, key=lambda event: (event["at_ms"], event["id"])):
        if "deviation" in event:
            said = {name: event[name] for name in _ANSWERS if name in event}
            answers[event["deviation"]] = {"grade": event.get("grade"), **said}
    return answers


def answer_for(deviation: Deviation, answers: Mapping[str, Json]) -> Json | None:
    """The answer that still stands: one given for a lower grade is reopened by the higher one."""
    answer = answers.get(deviation.key)
    if answer is None or str(answer.get("grade")) < deviation.grade:
        return None
    return answer


def statement(unit: str, meta: CaseMeta, judgement: Judgement, answers: Mapping[str, Json], protocol: str) -> Json:
    """The statement that the surgeon signs. `judgement` is closed, without the rows of the sign-off itself."""
    deviations = [
        {
            "step": found.step,
            "kind": found.kind,
            "grade": found.grade,
            "key": found.key,
            "caught": found.caught,
            "detail": found.detail,
            "answer": answer_for(found, answers),
        }
        for found in judgement.deviations
    ]
    return {
        "v": 1,
        "type": "sign-off",
        "unit": unit,
        "case": meta.case,
        "entries": meta.entries,
        "deviations": deviations,
        "protocol": protocol,
        "unit_values_number": meta.unit_values_number,
    }


def proof_problem(sign_off: Mapping[str, Any], unit: str, server_jwk: Jwk, held: frozenset[str]) -> str | None:
    """None where the signature proves its statement; else in plain words what does not fit.

    `held` are the digests of the case's entries that are here: a statement may name no other.
    """
    said, proof = sign_off.get("statement"), sign_off.get("proof")
    if not isinstance(said, Mapping) or not isinstance(proof, Mapping) or proof.get("kind") != "pin":
        return "no statement, or no proof of a kind that is known"
    try:
        certificate = strict_json.parse(verify_jws(str(proof.get("certificate")), PIN_KEY, server_jwk))
        if not isinstance(certificate, dict):
            return "the certificate of the key cannot be read"
        thumbprint(certificate["jwk"])
        verify_raw(certificate["jwk"], canonical(said), str(proof.get("signature")))
    except (HubheldError, KeyError) as problem:
        return f"the signature does not fit: {problem}"
    if certificate.get("unit") != unit or said.get("unit") != unit:
        return "signed for another unit"
    if certificate.get("device") != sign_off.get("device"):
        return "signed with a key of another tablet"
    named = said.get("entries")
    if not isinstance(named, list) or not held.issuperset(map(str, named)):
        return "the statement names entries that are not held here"
    return None
