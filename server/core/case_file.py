"""Case files: validation, de-duplication and corrections; parsed JSON in, effective records out.

Contract section 2. A file is refused only where that section says so, and the place is named; unknown fields,
steps and event types are kept by whoever holds the file, not judged, and counted as unread.
"""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from server.core.errors import InvalidInput
from server.core.protocol import Field, Protocol, Step
from server.core.unit_values import UnitValues, read_unit_values
from server.core.values import describe, need_choice, need_object, need_text, need_whole

ID = re.compile(r"[A-Za-z0-9_-]+")
_DAY = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_GRADES = ("G1", "G2", "G3", "G4")
_ANSWERS = ("happened", "reached_eye", "done", "harm", "aftercare", "told", "report")
_OF_A_STEP = ("step", "not_done")
_CHAIN = ("vial_ug", "diluent_ul", "then")
_NO_VALUE: Mapping[str, Any] = {}


@dataclass(slots=True)
class Record:
    """One effective step event: `value` holds the known fields as they were entered or last corrected."""

    id: str
    step: Step
    at_ms: int
    entered_ms: int
    value: Mapping[str, Any]

    def get(self, field: str) -> Any:
        """The field, or its default where it was not entered; None where there is neither."""
        found = self.value.get(field)
        return self.step.defaults.get(field) if found is None else found

    @property
    def in_eye(self) -> bool:
        return self.get("in_eye") is not False

    @property
    def is_injection(self) -> bool:
        return self.step.asks_hub and "hub_held" in self.value and self.in_eye


@dataclass(slots=True)
class CaseFile:
    """A case as it is judged. `records` are ordered by at_ms, then id; `others` are the non-step events, voids gone."""

    case: str | None
    plan: Mapping[str, Any]
    unit: UnitValues
    records: list[Record]
    others: list[Mapping[str, Any]]
    unread: int


def read(document: object, protocol: Protocol) -> CaseFile:
    """Reads the parsed JSON of one case file. Raises InvalidInput at the first place that is refused."""
    file = need_object(document, "case file")
    name = file.get("protocol", protocol.name)
    if name != protocol.name:
        raise InvalidInput("protocol", describe(name), json.dumps(protocol.name))
    case = need_text(file["case"], "case") if "case" in file else None
    unit = read_unit_values(file.get("unit", {}), protocol)
    plan = check_plan(file.get("plan", _MISSING), unit, protocol)
    events = _distinct(file.get("events", _MISSING), protocol)
    corrections = _corrections(events, protocol)
    return _effective(case, plan, unit, events, corrections, protocol)


def check_event(event: object, protocol: Protocol) -> None:
    """Raises InvalidInput where a single event could not stand in a case file."""
    _check_event(event, "event", protocol)


class _Missing:
    """Stands for a member that is not there, which null is not."""


_MISSING = _Missing()


def check_plan(value: object, unit: UnitValues, protocol: Protocol) -> Mapping[str, Any]:
    """Returns the plan of a case. Raises InvalidInput under `plan` where a field is missing or wrong."""
    plan = need_object(value, "plan")
    for name, choices in protocol.document["plan"].items():
        need_choice(plan.get(name, _MISSING), f"plan.{name}", choices)
    lens = need_object(plan.get("lens", _MISSING), "plan.lens")
    need_text(lens.get("model", _MISSING), "plan.lens.model")
    need_whole(lens.get("power_cdpt", _MISSING), "plan.lens.power_cdpt")
    need_whole(lens.get("optic_um", _MISSING), "plan.lens.optic_um")
    if type(lens.get("dry_state_hydrophilic", _MISSING)) is not bool:
        found = describe(lens.get("dry_state_hydrophilic", _MISSING))
        raise InvalidInput("plan.lens.dry_state_hydrophilic", found, "true or false")
    drug = need_text(plan.get("drug", _MISSING), "plan.drug")
    if drug not in unit.drugs:
        raise InvalidInput("plan.drug", describe(drug), "a drug of the unit's list")
    return plan


def _distinct(value: object, protocol: Protocol) -> list[tuple[int, Mapping[str, Any]]]:
    """Every event once, each with its place in the file. Two contents under one id are refused."""
    if type(value) is not list:
        raise InvalidInput("events", describe(value), "a list")
    seen: dict[str, Mapping[str, Any]] = {}
    distinct = []
    for at, event in enumerate(value):
        where = f"events[{at}]"
        _check_event(event, where, protocol)
        first = seen.get(event["id"])
        if first is None:
            seen[event["id"]] = event
            distinct.append((at, event))
        elif _canonical(first) != _canonical(event):
            raise InvalidInput(
                f"{where}.id",
                f"another event with the id {describe(event['id'])}",
                "one content under one id",
            )
    return distinct


def _canonical(event: Mapping[str, Any]) -> str:
    return json.dumps(event, sort_keys=True)


def _check_event(event: object, where: str, protocol: Protocol) -> None:
    """The envelope that every event has, then what its type adds."""
    if type(event) is not dict:
        raise InvalidInput(where, describe(event), "an object")
    identity = event.get("id", _MISSING)
    if type(identity) is not str or not ID.fullmatch(identity):
        raise InvalidInput(f"{where}.id", describe(identity), "letters, digits, - and _")
    if type(event.get("type")) is not str:
        raise InvalidInput(f"{where}.type", describe(event.get("type", _MISSING)), "text")
    if type(event.get("at_ms")) is not int:
        raise InvalidInput(f"{where}.at_ms", describe(event.get("at_ms", _MISSING)), "a whole number")
    if type(event.get("entered_ms")) is not int:
        raise InvalidInput(f"{where}.entered_ms", describe(event.get("entered_ms", _MISSING)), "a whole number")
    roles = protocol.document["roles"]
    for name in ("said_by", "entered_by"):
        if name in event and event[name] not in roles:
            raise InvalidInput(f"{where}.{name}", describe(event[name]), "one of " + ", ".join(roles))
    check = _TYPES.get(event["type"])
    if check is not None:
        check(event, where, protocol)


def _check_step(event: Mapping[str, Any], where: str, protocol: Protocol) -> None:
    name = need_text(event.get("step", _MISSING), f"{where}.step")
    value = event.get("value", _NO_VALUE)
    if type(value) is not dict and value is not _NO_VALUE:
        raise InvalidInput(f"{where}.value", describe(value), "an object")
    step = protocol.steps.get(name)
    if step is not None:
        _check_value(value, step, f"{where}.value")


def _check_not_done(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    need_text(event.get("step", _MISSING), f"{where}.step")
    if "reason" in event:
        need_text(event["reason"], f"{where}.reason")


def _check_correct(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    corrects = event.get("corrects", _MISSING)
    if type(corrects) is not str or not ID.fullmatch(corrects):
        raise InvalidInput(f"{where}.corrects", describe(corrects), "the id of an event")
    if ("value" in event) == ("void" in event):
        found = "both value and void" if "void" in event else "neither value nor void"
        raise InvalidInput(where, found, "exactly one of value and void")
    if "void" in event and event["void"] is not True:
        raise InvalidInput(f"{where}.void", describe(event["void"]), "true")
    if "value" in event and type(event["value"]) is not dict:
        raise InvalidInput(f"{where}.value", describe(event["value"]), "an object")


def _check_room(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    if "moment" in event:
        need_choice(event["moment"], f"{where}.moment", ("patient_in", "patient_out"))


def _check_fault(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    if "stage" in event:
        need_choice(event["stage"], f"{where}.stage", ("before", "during"))
    if "text" in event:
        need_text(event["text"], f"{where}.text")


def _check_breach(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    if "reached_eye" in event and type(event["reached_eye"]) is not bool:
        raise InvalidInput(f"{where}.reached_eye", describe(event["reached_eye"]), "true or false")
    if "text" in event:
        need_text(event["text"], f"{where}.text")


def _check_complication(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    if "what" in event:
        need_text(event["what"], f"{where}.what")


def _check_answer(event: Mapping[str, Any], where: str, _protocol: Protocol) -> None:
    if "deviation" in event:
        need_text(event["deviation"], f"{where}.deviation")
    if "grade" in event:
        need_choice(event["grade"], f"{where}.grade", _GRADES)
    for name in _ANSWERS:
        if name in event and event[name] is None:
            raise InvalidInput(f"{where}.{name}", "null", "an answer")


_TYPES = {
    "step": _check_step,
    "not_done": _check_not_done,
    "correct": _check_correct,
    "room": _check_room,
    "fault": _check_fault,
    "breach": _check_breach,
    "complication": _check_complication,
    "answer": _check_answer,
}


def _check_value(value: Mapping[str, Any], step: Step, where: str) -> None:
    for field in step.fields:
        found = value.get(field.name, _MISSING)
        if found is not _MISSING and not _FITS[field.type](found, field):
            raise InvalidInput(f"{where}.{field.name}", describe(found), _expected(field))
    if "strength_ug_ml" in value and step.is_chain and any(name in value for name in _CHAIN):
        raise InvalidInput(f"{where}.strength_ug_ml", "a strength beside a dilution chain", "one of the two")


def _is_counts(value: object) -> bool:
    return type(value) is dict and all(type(count) is int for count in value.values())


def _is_dilutions(value: object) -> bool:
    return type(value) is list and all(
        type(part) is dict and all(type(part.get(name, 0)) is int for name in ("take_ul", "add_ul")) for part in value
    )


def _is_day(value: object) -> bool:
    match = _DAY.fullmatch(value) if type(value) is str else None
    if match is None:
        return False
    year, month, day = (int(part) for part in match.groups())
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    days = (31, 29 if leap else 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    return year >= 1 and 1 <= month <= 12 and 1 <= day <= days[month - 1]


def _is_choice(value: object, field: Field) -> bool:
    return type(value) is str and value in field.choices


_FITS: dict[str, Callable[[Any, Field], bool]] = {
    "boolean": lambda value, _field: type(value) is bool,
    "whole": lambda value, _field: type(value) is int,
    "text": lambda value, _field: type(value) is str,
    "one_of": _is_choice,
    "some_of": lambda value, field: type(value) is list and all(_is_choice(choice, field) for choice in value),
    "counts": lambda value, _field: _is_counts(value),
    "dilutions": lambda value, _field: _is_dilutions(value),
    "day": lambda value, _field: _is_day(value),
}
_EXPECTED = {
    "boolean": "true or false",
    "whole": "a whole number",
    "text": "text",
    "one_of": "one of ",
    "some_of": "a list of ",
    "counts": "an object of whole numbers",
    "dilutions": "a list of objects with take_ul and add_ul",
    "day": "a day as YYYY-MM-DD",
}


def _expected(field: Field) -> str:
    return _EXPECTED[field.type] + field.choice_words


def _corrections(events: list[tuple[int, Mapping[str, Any]]], protocol: Protocol) -> dict[str, Mapping[str, Any]]:
    """For each corrected id the one correction that decides: the last by entered_ms, then id."""
    targets = {event["id"]: event for _at, event in events}
    deciding: dict[str, Mapping[str, Any]] = {}
    for at, event in events:
        if event["type"] != "correct":
            continue
        check_correction(event, targets.get(event["corrects"]), f"events[{at}]", protocol)
        last = deciding.get(event["corrects"])
        if last is None or (event["entered_ms"], event["id"]) > (last["entered_ms"], last["id"]):
            deciding[event["corrects"]] = event
    return deciding


def check_correction(
    correction: Mapping[str, Any], target: Mapping[str, Any] | None, where: str, protocol: Protocol
) -> None:
    """Raises InvalidInput where a correction does not fit the event that it corrects; None waits for its event."""
    if target is None:
        return
    if target["type"] == "correct":
        raise InvalidInput(f"{where}.corrects", "the id of a correction", "the id of another event")
    step = protocol.steps.get(target["step"]) if target["type"] == "step" else None
    if step is not None and "value" in correction:
        _check_value(correction["value"], step, f"{where}.value")


def _effective(
    case: str | None,
    plan: Mapping[str, Any],
    unit: UnitValues,
    events: list[tuple[int, Mapping[str, Any]]],
    corrections: Mapping[str, Mapping[str, Any]],
    protocol: Protocol,
) -> CaseFile:
    """Applies the corrections; what this version cannot read and nobody voided is counted as unread."""
    records, others, unread = [], [], 0
    for _at, event in events:
        kind = event["type"]
        correction = corrections.get(event["id"])
        if kind == "correct" or (correction is not None and "void" in correction):
            continue
        step = protocol.steps.get(event["step"]) if kind in _OF_A_STEP else None
        if kind not in _TYPES or (kind in _OF_A_STEP and step is None):
            unread += 1
        elif step is not None and kind == "step":
            value = event.get("value", _NO_VALUE) if correction is None else correction["value"]
            known = {field.name: value[field.name] for field in step.fields if field.name in value}
            records.append(Record(event["id"], step, event["at_ms"], event["entered_ms"], known))
        else:
            others.append(event)
    records.sort(key=lambda record: (record.at_ms, record.id))
    others.sort(key=lambda event: (event["at_ms"], event["id"]))
    return CaseFile(case, plan, unit, records, others, unread)
