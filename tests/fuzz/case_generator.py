"""Random case files, the same for the same seed: a walk through the operation that is then disturbed.

Steered: a careful team makes rare rules (caught, corrected, one thing wrong in a good case) common, a careless
one makes many things wrong at once; limits, equal times, ids at the edge of their order and huge numbers are frequent.
"""

from __future__ import annotations

import json
from random import Random
from typing import Any

from tests.fuzz.breakage import broken_bytes, broken_structure
from tests.fuzz.case_values import PROTOCOL, STEPS, TEXTS, WHOLE_MAX, Surroundings, value_of

Json = dict[str, Any]
WALK = list(STEPS)
TEAR_BRANCH = ("tear-hold", "vitrectomy-mode", "new-lens-plan", "wounds-swept", "wound-suture", "tear-aftercare")
RARE = ("other-medicine", "list-debrief")
CARELESS = (0.01, 0.05, 0.15, 0.15, 0.4, 0.8)
IDS = ("__proto__", "constructor", "a", "A", "Z", "_", "-", "10", "9", "09", "toString", "e1", "E1")
LATE_MS = (0, 1, 59_999, 60_000, 60_001, 600_000, -5_000)
UNIT_VALUES = {
    "main_wound_um": ([1800, 3500], [2200, 2200], [3000, 1800]),
    "rhexis_um": ([5000, 5200], [4500, 5600]),
    "overlap_um": (200, 250, 251, 0),
    "pressure_mmhg": ([8, 30], [18, 18]),
    "time_limit_s": (600, 1199, 0, 3600),
    "late_s": (0, 59, 61, 600),
    "antiseptic_s": (180, 121, 0),
    "dye": ("brilliant_blue", "trypan_blue"),
    "dyes": (
        {"trypan_blue": {"max_ug": 300}, "brilliant_blue": {"max_ug": 125}},
        {"brilliant_blue": {}},
        {"trypan_blue": {"max_ug": 0}},
    ),
    "drugs": (
        {
            "cefuroxime": {"dose_ug": 1000, "barred_by": ["cephalosporin"]},
            "vancomycin": {"dose_ug": 1000, "barred_by": []},
        },
        {"cefuroxime": {"dose_ug": 1250, "barred_by": ["latex"]}},
        {"cefuroxime": {"barred_by": []}, "moxifloxacin": {"dose_ug": 250}, "__proto__": {"dose_ug": 1}},
        {"cefuroxime": {"dose_ug": WHOLE_MAX}, "moxifloxacin": {"dose_ug": 0}},
    ),
    "modes": (
        {"sculpt": {"vacuum_mmhg": 51}, "cortex": {"flow_ul_min": [1, 2]}},
        {"segment": {"vacuum_mmhg": WHOLE_MAX, "flow_ul_min": 0}},
        {"ovd_removal": {"vacuum_mmhg": 450, "speed": "x"}, "vitrectomy": {}},
    ),
}


def case_files(seed: int, number: int) -> list[bytes]:
    """`number` case files as bytes; about one in nine is broken on purpose."""
    chance = Random(seed)
    return [case_file(chance) for _ in range(number)]


def case_file(chance: Random) -> bytes:
    case = valid_case(chance)
    if chance.random() < 0.07:
        case = broken_structure(case, chance)
    text = json.dumps(case, ensure_ascii=chance.random() < 0.3, indent=chance.choice([None, None, 1]))
    return broken_bytes(text, chance) if chance.random() < 0.04 else text.encode()


def valid_case(chance: Random) -> Json:
    """A case that is a case file, as the JSON value that it holds."""
    plan, unit = _plan(chance), _unit(chance)
    if unit and "drugs" in unit:
        plan["drug"] = chance.choice(list(unit["drugs"]))
    around = Surroundings(plan, unit or {}, chance.choice(CARELESS))
    events = _walk(around, chance) if chance.random() < 0.8 else _soup(around, chance)
    for _ in range(chance.choice([0, 1, 2, 4])):
        _disturb(events, around, chance)
    _name(events, chance)
    _correct(events, around, chance)
    if chance.random() < 0.3:
        events += [dict(event) for event in chance.sample(events, min(len(events), 3))]
    if chance.random() < 0.5:
        chance.shuffle(events)
    case: Json = {"protocol": PROTOCOL["protocol"], "case": chance.choice(TEXTS) + "x", "plan": plan, "events": events}
    for name in ("protocol", "case"):
        if chance.random() < 0.05:
            del case[name]
    return case if unit is None else case | {"unit": unit}


def _plan(chance: Random) -> Json:
    wild = chance.random() < 0.03
    return {
        "eye": chance.choice(["right", "left"]),
        "anaesthesia": chance.choice(["topical", "block", "block", "general"]),
        "red_reflex": chance.choice(["good", "poor"]),
        "lens": {
            "model": chance.choice(["AURA-1", "AURA-1", "BREVA-T", "É"]),
            "power_cdpt": chance.choice([2150, 2150, -300, 0]),
            "optic_um": chance.choice([WHOLE_MAX, -WHOLE_MAX, 0]) if wild else chance.choice([6000, 6000, 5500, 7000]),
            "dry_state_hydrophilic": chance.random() < 0.2,
        },
        "drug": chance.choice(["cefuroxime", "cefuroxime", "moxifloxacin"]),
    }


def _unit(chance: Random) -> Json | None:
    if chance.random() < 0.65:
        return None
    names = chance.sample(list(UNIT_VALUES), chance.randint(0, 3))
    return {name: chance.choice(UNIT_VALUES[name]) for name in names}


def _walk(around: Surroundings, chance: Random) -> list[Json]:
    """The steps in their order; the tear branch after the capsule, in some cases."""
    torn = chance.random() < 0.3
    order = [step for step in WALK if step not in TEAR_BRANCH and step not in RARE]
    if torn:
        at = order.index("posterior-capsule") + 1
        order[at:at] = TEAR_BRANCH
    if chance.random() < 0.3:
        order.insert(order.index("final-look"), "other-medicine")
    if chance.random() < 0.1:
        order.append("list-debrief")
    if chance.random() < 0.6:
        order = [step for step in order if chance.random() > 0.04]
    gap_ms = chance.choice([1, 3_333, 5_000, 30_000, 40_000, 80_000])
    start_ms = chance.choice([0, 0, 60_000, 1_795_651_100_000, -1_000_000, WHOLE_MAX - 10**7])
    events = []
    for number, step in enumerate(order):
        event = _step(step, start_ms + number * gap_ms, around, chance)
        if step == "posterior-capsule" and torn:
            event["value"] = {"state": "torn"}
        events.append(event)
        if chance.random() < 0.08 + 0.2 * around.careless:
            events.append(_step(step, event["at_ms"] + chance.choice([0, 1, gap_ms // 2]), around, chance))
        if chance.random() < 0.02:
            again = chance.choice(["seal-check", "wound-hydration", "final-look", "wound-suture"])
            events.append(_step(again, event["at_ms"] + 1, around, chance))
    return events


def _soup(around: Surroundings, chance: Random) -> list[Json]:
    """A few records at a few times: many equal ones."""
    times = [chance.choice([0, 1, 60_000, 60_001, 10_000, -WHOLE_MAX, WHOLE_MAX]) for _ in range(4)]
    return [_step(chance.choice(WALK), chance.choice(times), around, chance) for _ in range(chance.randint(0, 12))]


def _step(step: str, at_ms: int, around: Surroundings, chance: Random) -> Json:
    late_ms = chance.choice(LATE_MS) if chance.random() < 0.03 + 0.15 * around.careless else 0
    event: Json = {"type": "step", "step": step, "at_ms": at_ms, "entered_ms": _within(at_ms + late_ms)}
    event["value"] = value_of(step, around, chance)
    if not event["value"] and chance.random() < 0.5:
        del event["value"]
    if chance.random() < 0.1:
        event["said_by"] = chance.choice(PROTOCOL["roles"])
    return event


def _within(instant_ms: int) -> int:
    return max(-WHOLE_MAX, min(WHOLE_MAX, instant_ms))


def _disturb(events: list[Json], around: Surroundings, chance: Random) -> None:
    """One thing that happens to a case besides its steps, or that puts its steps out of order."""
    at_ms = chance.choice(events)["at_ms"] if events else 0
    at_ms = _within(at_ms + chance.choice([-1, 0, 1, 1000]))
    kind = chance.choice(list(_DISTURBANCES))
    made = _DISTURBANCES[kind](events, at_ms, around, chance)
    if made is not None:
        events.append({"at_ms": at_ms, "entered_ms": at_ms} | made)


def _moved(events: list[Json], at_ms: int, _around: Surroundings, chance: Random) -> None:
    """A record is moved to, just before or just after another one."""
    if events:
        event = chance.choice(events)
        event["at_ms"] = event["entered_ms"] = at_ms


def _swapped(events: list[Json], _at_ms: int, _around: Surroundings, chance: Random) -> None:
    """The two steps of an order pair change places."""
    pair = chance.choice(PROTOCOL["order"])
    first = {event["step"]: event for event in reversed(events) if event.get("type") == "step"}
    if pair["before"] in first and pair["after"] in first:
        one, other = first[pair["before"]], first[pair["after"]]
        one["at_ms"], other["at_ms"] = other["at_ms"], one["at_ms"]
        one["entered_ms"], other["entered_ms"] = one["at_ms"], other["at_ms"]


def _again(_events: list[Json], at_ms: int, around: Surroundings, chance: Random) -> Json:
    return _step(chance.choice(WALK), at_ms, around, chance)


def _good_again(events: list[Json], _at_ms: int, around: Surroundings, chance: Random) -> Json | None:
    """A reading is repeated by a careful hand: what was wrong is caught."""
    steps = [event for event in events if event.get("type") == "step" and event["step"] in STEPS]
    if not steps:
        return None
    event = chance.choice(steps)
    careful = Surroundings(around.plan, around.unit, 0)
    return _step(event["step"], _within(event["at_ms"] + 1), careful, chance)


def _noticed(_events: list[Json], at_ms: int, around: Surroundings, chance: Random) -> Json:
    """A wrong mode at a settings step, noticed before it entered the eye."""
    step = chance.choice([name for name, entry in STEPS.items() if "settings" in entry])
    event = _step(step, at_ms, around, chance)
    event["value"] = {"mode": chance.choice(PROTOCOL["modes"]), "noticed": "before_entry"}
    return event


def _left_out(events: list[Json], _at_ms: int, _around: Surroundings, chance: Random) -> None:
    if events:
        events.remove(chance.choice(events))


def _with(kind: str, field: str, choices: tuple[Any, ...]) -> Any:
    """An event of `kind` whose `field` is one of `choices`; None leaves the field out."""

    def make(_events: list[Json], _at_ms: int, _around: Surroundings, chance: Random) -> Json:
        chosen = chance.choice(choices)
        return {"type": kind} | ({} if chosen is None else {field: chosen})

    return make


def _not_done(_events: list[Json], _at_ms: int, _around: Surroundings, chance: Random) -> Json:
    step = chance.choice(["hydrodissection", "hydrodissection", "washout", "new-step"])
    return {"type": "not_done", "step": step, "reason": chance.choice(["posterior_polar", "no_time", "", "é"])}


def _unknown(_events: list[Json], _at_ms: int, _around: Surroundings, chance: Random) -> Json:
    if chance.random() < 0.5:
        return {"type": chance.choice(["photo", "__proto__", "constructor", "", "Step"]), "blob": [1, {"x": None}]}
    return {"type": "step", "step": chance.choice(["new-step", "__proto__", "toString", "", "case"]), "value": {"x": 1}}


_DISTURBANCES = {
    "moved": _moved,
    "swapped": _swapped,
    "swapped, too": _swapped,
    "again": _again,
    "good again": _good_again,
    "good again, too": _good_again,
    "left out": _left_out,
    "noticed": _noticed,
    "room": _with("room", "moment", ("patient_in", "patient_out", "patient_out", "patient_out", None)),
    "fault": _with("fault", "stage", ("before", "during", None)),
    "breach": _with("breach", "reached_eye", (True, False, None)),
    "complication": _with(
        "complication", "what", ("capsule_tear", "wrong_eye", "zonule_loss", "__proto__", "constructor", None)
    ),
    "answer": _with("answer", "deviation", ("dye/dose", "case/equipment/a", "__proto__")),
    "not done": _not_done,
    "unknown": _unknown,
}


def _name(events: list[Json], chance: Random) -> None:
    """Ids in no order of their events; some look like names that every object has."""
    numbers = list(range(len(events)))
    chance.shuffle(numbers)
    special = chance.sample(IDS, min(len(IDS), 4)) if chance.random() < 0.4 else []
    for event, number in zip(events, numbers, strict=True):
        event["id"] = special[number] if number < len(special) else f"{chance.choice('xX_-')}{number}"


def _correct(events: list[Json], around: Surroundings, chance: Random) -> None:
    """Slips are put right, voided, revived and corrected again; some corrections wait for an event that never comes."""
    for number in range(chance.choice([0, 0, 1, 2, 5])):
        targets = [event for event in events if event["type"] != "correct"]
        if not targets:
            return
        target = chance.choice(targets)
        entered_ms = chance.choice([0, 1, target["entered_ms"]])
        correction: Json = {"id": f"c{number}", "type": "correct", "corrects": target["id"]}
        correction |= {"at_ms": chance.choice([0, target["at_ms"]]), "entered_ms": entered_ms}
        if chance.random() < 0.4:
            correction["void"] = True
        else:
            known = target["type"] == "step" and target["step"] in STEPS
            correction["value"] = value_of(target["step"], around, chance) if known else {"x": 1}
        if chance.random() < 0.05:
            correction["corrects"] = "never-comes"
        events.append(correction)
