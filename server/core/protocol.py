"""The protocol file as values: steps, fields, order pairs, unit values and grades.

`load` takes the parsed JSON of shared/protocol/*.json and refuses a file that it does not wholly understand.
Steps, bounds, order pairs, grades and thresholds are data; what a rule does is code (server/core/judge).
"""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core import condition
from server.core.protocol_names import check_names, condition_names, value_names
from server.core.protocol_shape import (
    GRADES,
    Json,
    Shape,
    a_list,
    a_map,
    boolean,
    either,
    exact,
    grade,
    one_of,
    optional,
    text,
    texts,
    whole,
)
from server.core.protocol_shape import check as check_shape

FIELD_TYPES = ("boolean", "whole", "text", "one_of", "some_of", "counts", "dilutions", "day")
STEP_KINDS = ("confirm", "readback", "measure", "settings", "dose", "count", "branch")

_REFUSE = {"below": optional(whole), "above": optional(whole), "multiple_of": optional(whole)}
_FIELD = {
    "name": text,
    "type": one_of(*FIELD_TYPES),
    "required": boolean,
    "choices": optional(texts),
    "default": optional(either(boolean, whole, text)),
    "refuse": optional(exact(_REFUSE)),
}
_RULES = {
    "longest_at_least": {"field": text, "limit": text, "grade": grade},
    "any_outside": {"field": text, "range": text, "grade": grade},
    "last_outside": {"field": text, "range": text, "grade": grade},
    "last_overlap": {"diameter": text, "decentration": text, "limit": text, "grade": grade},
    "last_is": {"field": text, "choice": text, "grade": grade},
    "last_measured_outside": {"field": text, "instrument": text, "range": text, "grade": grade},
    "settings": {"grade": grade},
}
_READBACK = {
    "true": {"field": text},
    "eye": {"against": one_of("plan", "marked-eye")},
    "lens": {"against": texts, "expiry": optional(text)},
    "unit_dye": {"field": text},
    "label": {"field": text, "label": text},
}
_PLACE = one_of("never_in_eye", "in_eye")
_CONTRAINDICATED = {
    "antiseptic": {"field": text},
    "drug": {"field": text, "place": _PLACE, "accepted_at": optional(text)},
    "dye": {"field": text, "place": _PLACE},
}
_SUBSTITUTION = {
    "antiseptic": {"field": text},
    "drug": {"field": text},
    "dye": {"field": text},
    "lens": {"site": text},
}
_COMPLICATION = {
    "any_is": {"field": text, "choice": text, "grade": grade},
    "last_false": {"field": text, "grade": grade},
}


def _by_rule(rules: Mapping[str, Mapping[str, Shape]]) -> Shape:
    """An object whose `rule` names one of `rules` and that holds exactly what that rule needs."""

    def shape(value: Json, where: str) -> None:
        exact({"rule": one_of(*rules)}, lambda _value, _where: None)(value, where)
        exact({"rule": text, **rules[value["rule"]]})(value, where)

    return shape


_STEP = {
    "step": text,
    "code": text,
    "phase": text,
    "key_word": text,
    "prompt": text,
    "confirms": texts,
    "kind": one_of(*STEP_KINDS),
    "due": a_list(lambda _value, _where: None),
    "fields": a_list(exact(_FIELD)),
    "per_list": optional(boolean),
    "timely": optional(boolean),
    "blind": optional(boolean),
    "carried_from": optional(text),
    "in_eye_only": optional(boolean),
    "asks_hub": optional(boolean),
    "sutures_field": optional(text),
    "reasons": optional(texts),
    "omitted": optional(
        exact(
            {
                "no_record": grade,
                "must_be_true": optional(texts),
                "false": optional(grade),
                "met_also_by": optional(exact({"step": text, "field": text})),
            }
        )
    ),
    "tolerance": optional(a_list(_by_rule(_RULES))),
    "settings": optional(exact({"allowed": texts})),
    "readback": optional(_by_rule(_READBACK)),
    "dose": optional(exact({"of": one_of("drug", "dye"), "place": _PLACE, "chain": optional(boolean)})),
    "contraindicated": optional(_by_rule(_CONTRAINDICATED)),
    "substitution": optional(_by_rule(_SUBSTITUTION)),
    "complication": optional(_by_rule(_COMPLICATION)),
    "count": optional(exact({"opening": text, "items": text, "added": text, "out": text, "retained": text})),
    "answers": optional(
        a_list(exact({"label": text, "value": a_map(lambda _value, _where: None), "then_ask": optional(text)}))
    ),
    "why": text,
    "source": text,
}
_RANGE = a_list(whole, length=2)
_UNIT_VALUES = {
    "drugs": a_map(exact({"dose_ug": whole, "barred_by": texts})),
    "dyes": a_map(exact({"max_ug": whole})),
    "dye": text,
    "modes": a_map(exact({"vacuum_mmhg": _RANGE, "flow_ul_min": _RANGE})),
    "main_wound_um": _RANGE,
    "rhexis_um": _RANGE,
    "overlap_um": whole,
    "pressure_mmhg": _RANGE,
    "time_limit_s": whole,
    "late_s": whole,
    "antiseptic_s": whole,
}
# Beside those that the judge names, values of a unit's own: a range or a limit that a rule of tolerance names.
_UNIT_VALUE = either(_RANGE, whole)
_FIXED = {
    "suture_wound_um": whole,
    "burst_records": whole,
    "burst_span_ms": whole,
    "card_tolerance_percent": whole,
    "dose_ratio_low": _RANGE,
    "dose_ratio_high": _RANGE,
    "dose_ratio_g3_over": _RANGE,
    "dose_ratio_g4_from": _RANGE,
    "dyes_barred_by_dry_state_hydrophilic": texts,
    "accept_aloud": exact({"drug": text, "allergy": text}),
    "usual_antiseptic": text,
    "antiseptic_barred_by": text,
}
_GRADED = {
    "dose": ("outside", "g3", "g4"),
    "contraindicated": ("not_in_eye", "in_eye", "not_accepted"),
    "readback_mismatch": ("corrected", "kept"),
    "wrong_setting": ("noticed_and_corrected", "other"),
    "hub_not_held": ("not_held", "detached", "injury"),
    "substitution": [
        "drug_by_allergy",
        "drug_listed",
        "drug_not_listed",
        "dye_listed",
        "dye_not_listed",
        "antiseptic_by_allergy",
        "antiseptic_other",
        "lens_from_new_plan",
        "lens_from_plan_by_new_plan",
        "lens_from_both_plans",
        "lens_from_one_plan",
    ],
    "count": ("retained", "corrected", "kept"),
    "equipment": ("before", "during"),
    "contamination": ("kept_out", "reached_eye"),
}
_GRADE_TABLE = {
    **{kind: exact(dict.fromkeys(names, grade)) for kind, names in _GRADED.items()},
    "complication": a_map(grade),
    "time_overrun": grade,
    "late_entry": grade,
}
_DOCUMENT = {
    "$schema": text,
    "protocol": text,
    "title": text,
    "caution": text,
    "phases": a_list(exact({"phase": text, "title": text})),
    "roles": texts,
    "plan": a_map(texts),
    "allergies": texts,
    "modes": texts,
    "unit_values": exact(_UNIT_VALUES, _UNIT_VALUE),
    "fixed": exact(_FIXED),
    "steps": a_list(exact(_STEP)),
    "tear": exact({"step": text, "field": text, "choice": text}),
    "order": a_list(exact({"before": text, "after": text, "grade": grade, "only_after_tear": optional(boolean)})),
    "after_last": exact({"step": text, "records": texts, "grade": grade}),
    "before_patient_out": exact({"steps": texts, "grade": grade}),
    "grades": exact(_GRADE_TABLE),
    "time_overrun": exact({"from": text, "to": texts}),
    "grade_words": exact(dict.fromkeys(GRADES, text)),
    "not_done_reasons": texts,
    "stops": texts,
    "sources": a_map(text),
}


@dataclass(frozen=True, slots=True)
class Field:
    """One value of a step. `type` is one of FIELD_TYPES; `choices` belongs to one_of and some_of."""

    name: str
    type: str
    required: bool
    choices: frozenset[str]
    choice_words: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step. `rules` is its entry of the protocol file as it stands there, checked."""

    step: str
    due: condition.Expression
    fields: tuple[Field, ...]
    defaults: Mapping[str, object]
    in_eye_only: bool
    asks_hub: bool
    is_chain: bool
    timely: bool
    rules: Json


@dataclass(frozen=True, slots=True)
class Pair:
    """`before` wants to stand before `after`."""

    before: str
    after: str
    grade: str
    only_after_tear: bool


@dataclass(frozen=True, slots=True)
class Protocol:
    """The whole protocol file, checked. `document` is the file itself."""

    name: str
    steps: Mapping[str, Step]
    order: tuple[Pair, ...]
    unit_values: Json
    range_names: tuple[str, ...]
    limit_names: tuple[str, ...]
    fixed: Json
    grades: Json
    document: Json


def load(document: object) -> Protocol:
    """Checks and reads a protocol document. Raises InvalidInput that names the place."""
    return _read(check_shape(exact(_DOCUMENT), document, "protocol file"))


def _read(document: Json) -> Protocol:
    check_names(document)
    names = condition_names(document)
    steps = {entry["step"]: _step(entry, f"steps[{at}]", names) for at, entry in enumerate(document["steps"])}
    return Protocol(
        name=document["protocol"],
        steps=steps,
        order=tuple(
            Pair(pair["before"], pair["after"], pair["grade"], pair.get("only_after_tear", False))
            for pair in document["order"]
        ),
        unit_values=document["unit_values"],
        range_names=value_names(document, list),
        limit_names=value_names(document, int),
        fixed=document["fixed"],
        grades=document["grades"],
        document=document,
    )


def _step(entry: Json, where: str, names: condition.ConditionNames) -> Step:
    fields = tuple(_field(field) for field in entry["fields"])
    defaults = {
        # A missing required boolean counts as false; without hub_held a record is no injection (contract section 3).
        field["name"]: field.get("default", False)
        for field in entry["fields"]
        if "default" in field or (field["type"] == "boolean" and field["name"] != "hub_held")
    }
    return Step(
        step=entry["step"],
        due=condition.parse(entry["due"], f"{where}.due", names),
        fields=fields,
        defaults=defaults,
        in_eye_only=entry.get("in_eye_only", False),
        asks_hub=entry.get("asks_hub", False),
        is_chain=entry.get("dose", {}).get("chain", False),
        timely=entry.get("timely", True),
        rules=entry,
    )


def _field(field: Json) -> Field:
    choices = field.get("choices", [])
    return Field(field["name"], field["type"], field["required"], frozenset(choices), ", ".join(choices))
