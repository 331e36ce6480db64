"""Names in the protocol file: every step, field, choice, mode and value that a rule names must be there.

A misspelt name would otherwise switch its rule off without a word. Works on the document whose shape has been checked.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from server.core.condition import ConditionNames
from server.core.errors import InvalidInput
from server.core.protocol_shape import Json

_PLAN = ("eye", "anaesthesia", "red_reflex")
_PLAN_PATHS = (*_PLAN, "drug", "lens.model", "lens.power_cdpt", "lens.optic_um", "lens.dry_state_hydrophilic")
_UNITS = ("_um", "_ul", "_ug_ml", "_ug", "_cdpt", "_mmhg", "_ul_min", "_s")
_HUB = ("lock_checked", "hub_held", "detached", "injury")
_LENS_REFERENCES = ("new-lens-plan", "plan", "lens-plan")
# Kinds whose grades stand beside their rules.
_UNGRADED_KINDS = ("omitted", "out_of_order", "out_of_tolerance")


@dataclass(frozen=True, slots=True)
class _Use:
    """A field that a rule reads: of which step, of which type, and the choice that it looks for."""

    step: str
    field: str
    type: str
    choice: str | None = None


def check_names(document: Json) -> None:
    """Raises InvalidInput at the first name that the file does not hold."""
    steps: dict[str, Json] = {entry["step"]: entry for entry in document["steps"]}
    if len(steps) != len(document["steps"]):
        raise InvalidInput("steps", "one step twice", "each step once")
    _check_file(document, steps)
    for at, entry in enumerate(document["steps"]):
        where = f"steps[{at}]"
        _check_step(entry, document, where)
        _need(_steps_named_by(entry), steps, where, "a step of this file")
        for use in (*_uses_of(entry), *_antiseptic_uses(entry, document["fixed"])):
            _check_use(use, steps, where)
    for use in _uses_of_code(document["tear"]):
        _check_use(use, steps, "steps")


def condition_names(document: Json) -> ConditionNames:
    """What the conditions of this file may name."""
    words = {f"plan.{name}": choices for name, choices in document["plan"].items()}
    for entry in document["steps"]:
        words[f"not_done.{entry['step']}"] = [*document["not_done_reasons"], *entry.get("reasons", [])]
        for field in entry["fields"]:
            if "choices" in field:
                words[f"{entry['step']}.{field['name']}"] = field["choices"]
    fields_of = {entry["step"]: frozenset(field["name"] for field in entry["fields"]) for entry in document["steps"]}
    return ConditionNames(frozenset(_PLAN_PATHS), frozenset(document["fixed"]), fields_of, words)


def value_names(document: Json, kind: type) -> tuple[str, ...]:
    """The unit values that are ranges ([low, high], `list`) or limits (a whole number, `int`), in file order."""
    return tuple(name for name, value in document["unit_values"].items() if type(value) is kind)


def _need(names: Collection[str], among: Collection[str], where: str, expected: str) -> None:
    for name in names:
        if name not in among:
            raise InvalidInput(where, name, expected)


def _check_file(document: Json, steps: Mapping[str, Json]) -> None:
    named = [(f"order[{at}]", [pair["before"], pair["after"]]) for at, pair in enumerate(document["order"])]
    named += [
        ("after_last", [document["after_last"]["step"], *document["after_last"]["records"]]),
        ("before_patient_out", document["before_patient_out"]["steps"]),
        ("time_overrun", [document["time_overrun"]["from"], *document["time_overrun"]["to"]]),
    ]
    for where, names in named:
        _need(names, steps, where, "a step of this file")
    _need(document["plan"], _PLAN, "plan", ", ".join(_PLAN))
    _need(_PLAN, document["plan"], "plan", ", ".join(_PLAN))
    for stop in document["stops"]:
        kind, *at = stop.split(":")
        _need([kind], [*_UNGRADED_KINDS, *document["grades"]], "stops", "a kind of deviation")
        _need(at, steps, "stops", "a step of this file")
    _check_values(document)


def _check_values(document: Json) -> None:
    values, fixed = document["unit_values"], document["fixed"]
    _need(values["modes"], document["modes"], "unit_values.modes", "one of the file's modes")
    _need(document["modes"], values["modes"], "unit_values.modes", "a range for each mode")
    for name in (*value_names(document, list), *value_names(document, int)):
        if not name.endswith(_UNITS):
            raise InvalidInput("unit_values", name, "a name that ends in its unit: " + ", ".join(_UNITS))
    dyes = [values["dye"], *fixed["dyes_barred_by_dry_state_hydrophilic"]]
    _need(dyes, values["dyes"], "unit_values.dyes", "one of the unit's dyes")
    _need([fixed["accept_aloud"]["drug"]], values["drugs"], "fixed.accept_aloud", "one of the unit's drugs")
    spoken = [allergy for drug in values["drugs"].values() for allergy in drug["barred_by"]]
    allergies = [*spoken, fixed["accept_aloud"]["allergy"], fixed["antiseptic_barred_by"]]
    _need(allergies, document["allergies"], "unit_values.drugs", "one of the file's allergies")
    ratios = ("dose_ratio_low", "dose_ratio_high", "dose_ratio_g3_over", "dose_ratio_g4_from")
    if any(fixed[name][1] <= 0 for name in ratios):
        raise InvalidInput("fixed", "a ratio over 0 or less", "ratios with a denominator above 0")
    _need(["other"], document["grades"]["complication"], "grades.complication", "a grade for other complications")


def _check_step(entry: Json, document: Json, where: str) -> None:
    phases = [phase["phase"] for phase in document["phases"]]
    _need([entry["phase"]], phases, f"{where}.phase", "one of the file's phases")
    _need(entry["confirms"], document["roles"], f"{where}.confirms", "one of the file's roles")
    allowed = entry.get("settings", {}).get("allowed", [])
    _need(allowed, document["modes"], f"{where}.settings", "one of the file's modes")
    for rule in entry.get("tolerance", []):
        for key, kind in (("range", list), ("limit", int)):
            named = [rule[key]] if key in rule else []
            _need(named, value_names(document, kind), f"{where}.tolerance", f"a {key} among the unit values")
    readback = entry.get("readback", {})
    if readback.get("rule") == "lens":
        expected = "one of " + ", ".join(_LENS_REFERENCES)
        _need(readback["against"], _LENS_REFERENCES, f"{where}.readback", expected)
    omitted = entry.get("omitted", {})
    if ("must_be_true" in omitted) != ("false" in omitted):
        raise InvalidInput(f"{where}.omitted", "one of must_be_true and false", "both or neither")
    for at, field in enumerate(entry["fields"]):
        _check_field(field, f"{where}.fields[{at}]")
    if len({field["name"] for field in entry["fields"]}) != len(entry["fields"]):
        raise InvalidInput(f"{where}.fields", "one field twice", "each field once")
    _check_answers(entry, where)


def _check_field(field: Json, where: str) -> None:
    kind = field["type"]
    if (kind in ("one_of", "some_of")) != ("choices" in field):
        raise InvalidInput(f"{where}.choices", f"choices of {kind}", "choices of one_of or some_of alone")
    if "default" not in field:
        return
    default = field["default"]
    is_fit = {
        "boolean": type(default) is bool,
        "whole": type(default) is int,
        "one_of": default in field.get("choices", []),
    }
    if not is_fit.get(kind, False):
        raise InvalidInput(f"{where}.default", str(default), f"a value of {kind}")


def _check_answers(entry: Json, where: str) -> None:
    """Slabs offer fields of the step, and ask next what can be answered by a tap."""
    types = {field["name"]: field["type"] for field in entry["fields"]}
    for answer in entry.get("answers", []):
        _need(answer["value"], types, f"{where}.answers", "a field of the step")
        asked = answer.get("then_ask")
        if asked is not None and types.get(asked) not in ("boolean", "one_of"):
            expected = "a yes-or-no or one-of field of the step"
            raise InvalidInput(f"{where}.answers", f"then_ask {asked}", expected)


def _check_use(use: _Use, steps: Mapping[str, Json], where: str) -> None:
    fields = steps[use.step]["fields"] if use.step in steps else []
    field = next((field for field in fields if field["name"] == use.field), None)
    if field is None or field["type"] != use.type:
        raise InvalidInput(where, f"{use.step}.{use.field}", f"a field of type {use.type}")
    if use.choice is not None:
        _need([use.choice], field.get("choices", []), where, f"a choice of {use.step}.{use.field}")


def _steps_named_by(entry: Json) -> list[str]:
    """Other steps that the rules of a step name."""
    found = [
        entry.get("carried_from"),
        entry.get("omitted", {}).get("met_also_by", {}).get("step"),
        entry.get("contraindicated", {}).get("accepted_at"),
        entry.get("count", {}).get("opening"),
    ]
    return [name for name in found if name is not None]


def _uses_of(entry: Json) -> Iterator[_Use]:
    """The fields that the rules of a step read, its own and those of other steps."""
    for kind, names in _own_fields(entry):
        yield from (_Use(entry["step"], name, kind) for name in names)
    if "met_also_by" in entry.get("omitted", {}):
        met = entry["omitted"]["met_also_by"]
        yield _Use(met["step"], met["field"], "whole")
    if "count" in entry:
        yield _Use(entry["count"]["opening"], entry["count"]["items"], "counts")
    if "carried_from" in entry:
        yield from _lens_of(entry["carried_from"])
    for rule in entry.get("tolerance", []):
        yield from _tolerance_uses(entry["step"], rule)
    yield from _readback_uses(entry["step"], entry.get("readback", {}))
    yield from _contraindicated_uses(entry["step"], entry.get("contraindicated", {}))
    yield from _substitution_uses(entry["step"], entry.get("substitution", {}))
    yield from _complication_uses(entry["step"], entry.get("complication", {}))


def _own_fields(entry: Json) -> Iterator[tuple[str, Collection[str]]]:
    if entry.get("asks_hub"):
        yield "boolean", _HUB
    if entry.get("in_eye_only"):
        yield "boolean", ["in_eye"]
    yield "boolean", entry.get("omitted", {}).get("must_be_true", [])
    if "sutures_field" in entry:
        yield "whole", [entry["sutures_field"]]
    if "settings" in entry:
        yield "one_of", ("mode", "noticed")
        yield "whole", ("vacuum_mmhg", "flow_ul_min")
    if "dose" in entry:
        yield "text", [entry["dose"]["of"]]
        yield "whole", ("strength_ug_ml", "volume_ul")
        if entry["dose"].get("chain"):
            yield "whole", ("vial_ug", "diluent_ul")
            yield "dilutions", ["then"]
    if "count" in entry:
        yield "counts", [entry["count"]["added"], entry["count"]["out"]]
        yield "boolean", [entry["count"]["retained"]]


def _lens_of(step: str) -> Iterator[_Use]:
    yield _Use(step, "model", "text")
    yield _Use(step, "power_cdpt", "whole")


def _tolerance_uses(step: str, rule: Json) -> Iterator[_Use]:
    match rule["rule"]:
        case "longest_at_least" | "any_outside" | "last_outside":
            yield _Use(step, rule["field"], "whole")
        case "last_overlap":
            yield _Use(step, rule["diameter"], "whole")
            yield _Use(step, rule["decentration"], "whole")
        case "last_is":
            yield _Use(step, rule["field"], "one_of", rule["choice"])
        case "last_measured_outside":
            yield _Use(step, rule["field"], "whole")
            yield _Use(step, rule["instrument"], "text")
        case "settings":
            yield _Use(step, "mode", "one_of")


def _readback_uses(step: str, rule: Json) -> Iterator[_Use]:
    match rule.get("rule"):
        case "true":
            yield _Use(step, rule["field"], "boolean")
        case "eye":
            against = [] if rule["against"] == "plan" else [rule["against"]]
            yield from (_Use(name, "eye", "one_of") for name in (step, *against))
        case "lens":
            for name in (step, *(reference for reference in rule["against"] if reference != "plan")):
                yield from _lens_of(name)
            if "expiry" in rule:
                yield _Use(step, rule["expiry"], "day")
        case "unit_dye" | "label":
            yield _Use(step, rule["field"], "text")


def _contraindicated_uses(step: str, rule: Json) -> Iterator[_Use]:
    if rule.get("rule") not in ("drug", "dye"):
        return
    yield _Use(step, rule["field"], "text")
    if rule["place"] == "in_eye":
        yield _Use(step, "in_eye", "boolean")
    if "accepted_at" in rule:
        yield _Use(rule["accepted_at"], "drug", "text")
        yield _Use(rule["accepted_at"], "allergy_accepted", "boolean")


def _substitution_uses(step: str, rule: Json) -> Iterator[_Use]:
    match rule.get("rule"):
        case "lens":
            yield from _lens_of(step)
            yield _Use(step, rule["site"], "one_of", "none")
        case "drug" | "dye":
            yield _Use(step, rule["field"], "text")
            yield _Use(step, "in_eye", "boolean")


def _antiseptic_uses(entry: Json, fixed: Json) -> Iterator[_Use]:
    for kind in ("contraindicated", "substitution"):
        rule = entry.get(kind, {})
        if rule.get("rule") == "antiseptic":
            yield _Use(entry["step"], rule["field"], "one_of", fixed["usual_antiseptic"])


def _complication_uses(step: str, rule: Json) -> Iterator[_Use]:
    match rule.get("rule"):
        case "any_is":
            yield _Use(step, rule["field"], "one_of", rule["choice"])
        case "last_false":
            yield _Use(step, rule["field"], "boolean")


def _uses_of_code(tear: Json) -> Iterator[_Use]:
    """What the kinds of deviation read by names of their own."""
    yield _Use(tear["step"], tear["field"], "one_of", tear["choice"])
    yield _Use("allergies", "allergies", "some_of")
    yield from _lens_of("lens-plan")
    yield from _lens_of("new-lens-plan")
