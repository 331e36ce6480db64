"""The surgeon's statement: what is signed at case end, and whether a signature proves it.

The RFC 8785 bytes of one statement are signed: the case, the sorted digests of its entries, the deviations with
the surgeon's answers, the protocol version and the number of the unit's values.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from server.core.canonical import canonical
from server.core.case_fold import CaseMeta
from server.core.crypto import Jwk, verify_raw
from server.core.entry import read_pin_key
from server.core.errors import HubheldError
from server.core.judge.deviation import Deviation, Judgement
from server.core.log_events import LogEvent, voided_ids

Json = dict[str, Any]

_STATEMENT = {"v", "type", "unit", "case", "entries", "deviations", "protocol", "unit_values_number"}
_ANSWERS = ("happened", "reached_eye", "done", "harm", "aftercare", "told", "report")


def answers_of(events: Sequence[Mapping[str, Any]]) -> dict[str, Json]:
    """For each deviation's key the surgeon's last answer that was not voided, with the grade it was given for."""
    voided = voided_ids((event, event["entered_ms"]) for event in events)
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


def checked_sign_off(unit: str, meta: CaseMeta, events: Iterable[LogEvent], server_jwk: Jwk) -> Json | None:
    """The case's signature as kept: `problem` is None where it proves its statement, else says what does not fit.

    `is_before_later`: the case has an entry that the signature does not name; answers stand for themselves.
    """
    if meta.sign_off is None:
        return None
    by_digest = {event.digest: event.event for event in events}
    said = meta.sign_off["statement"]
    named = said.get("entries") if isinstance(said, Mapping) else None
    named = set(map(str, named)) if isinstance(named, list) else set()
    # An event that came in by two logs has two digests: it was signed if either was named.
    signed_ids = {by_digest[sha256]["id"] for sha256 in named & by_digest.keys()}
    held = [by_digest[sha256] for sha256 in meta.entries]
    later = [event for event in held if event["id"] not in signed_ids and event["type"] != "answer"]
    problem = _proof_problem(meta.sign_off, by_digest[meta.sign_off["digest"]], unit, server_jwk)
    if problem is None and not named <= by_digest.keys():
        problem = "the statement names entries that are not held here"
    return {**meta.sign_off, "problem": problem, "is_before_later": bool(later)}


def _proof_problem(sign_off: Mapping[str, Any], event: Mapping[str, Any], unit: str, server_jwk: Jwk) -> str | None:
    said, proof = sign_off["statement"], sign_off["proof"]
    if not isinstance(said, Mapping) or not isinstance(proof, Mapping) or proof.get("kind") != "pin":
        return "no statement, or no proof of a kind that is known"
    if said.keys() != _STATEMENT or said["v"] != 1 or said["type"] != "sign-off" or type(said["entries"]) is not list:
        return "the statement has another form"
    try:
        certificate = read_pin_key(str(proof.get("certificate")), server_jwk)
        verify_raw(certificate["jwk"], canonical(said), str(proof.get("signature")))
    except HubheldError as problem:
        return f"the signature does not fit: {problem}"
    if certificate["unit"] != unit or said["unit"] != unit:
        return "signed for another unit"
    if certificate["device"] != sign_off["device"]:
        return "signed with a key of another tablet"
    if event.get("staff", certificate["person"]) != certificate["person"]:
        return "signed with the key of another person"
    if said["case"] != event["case"]:
        return "signed for another case"
    return None
