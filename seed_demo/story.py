"""The invented operations of the demo, each with the deviations that it is known to hold.

Pure: the same weeks for the same day. `operations(date)` gives one list's operations; each is a plan and a
sequence of taps in seconds since the patient came in. What was planted is listed beside it, so that the
weekly counts of the demo are known before anything is judged.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random
from typing import Any

from seed_demo.unit import LENS_MODELS

WEEKS = 13
LIST_WEEKDAYS = (1, 3)  # Tuesday and Thursday
CASES_A_LIST = 8
START_HOUR = 8
MINUTES_A_CASE = 25

Json = dict[str, Any]
Planted = tuple[str, str, str]

_HELD: Json = {"lock_checked": True, "hub_held": True}


@dataclass(slots=True)
class Tap:
    """One event: when it was tapped, how long before that it had happened, and what was said."""

    tapped_s: int
    event: Json
    ago_s: int = 0


@dataclass(slots=True)
class Operation:
    """One invented operation. `planted` are (step, kind, grade) that it is known to raise, one for each event."""

    order: int
    reference: str
    plan: Json
    taps: list[Tap]
    planted: list[Planted] = field(default_factory=list)
    surgeon: str = "S07"
    is_signed: bool = True
    patient_leaves: bool = True

    def tap(self, step: str) -> Tap:
        """The first tap of a step."""
        return next(tap for tap in self.taps if tap.event.get("step") == step)

    def value(self, step: str) -> Json:
        value = self.tap(step).event["value"]
        if not isinstance(value, dict):
            raise TypeError(step)
        return value

    def drop(self, step: str) -> None:
        self.taps.remove(self.tap(step))


def past_list_dates(today: date) -> list[date]:
    """The days of the thirteen whole weeks before the week of `today` on which a list was held."""
    monday = today - timedelta(days=today.weekday())
    starts = [monday - timedelta(weeks=back) for back in range(WEEKS, 0, -1)]
    return [start + timedelta(days=weekday) for start in starts for weekday in LIST_WEEKDAYS]


def operations(day: date) -> list[Operation]:
    """The operations of one list day, with what was planted in them."""
    chance = Random(day.toordinal())
    made = [_clean(order, day, chance) for order in range(1, CASES_A_LIST + 1)]
    for operation, plant in zip(made, _plants_of(day), strict=False):
        if plant is not None:
            plant(operation)
    return made


def expected_counts(days: list[date]) -> dict[Planted, int]:
    """Deviations by step, kind and grade that the lists of these days are known to hold."""
    counts: dict[Planted, int] = {}
    for day in days:
        for operation in operations(day):
            for planted in operation.planted:
                counts[planted] = counts.get(planted, 0) + 1
    return counts


def reference_of(day: date, order: int) -> str:
    """An invented list reference that stands for nobody: two letters, a day's number, a letter."""
    return f"DM{day.toordinal() % 10_000:04d}{chr(ord('A') + order - 1)}"


def _clean(order: int, day: date, chance: Random) -> Operation:
    power_cdpt = 1900 + 25 * chance.randrange(0, 21)
    plan: Json = {
        "eye": chance.choice(["right", "left"]),
        "anaesthesia": "block" if order == 5 else "topical",
        "red_reflex": "poor" if order == 7 else "good",
        "lens": {
            "model": LENS_MODELS[0],
            "power_cdpt": power_cdpt,
            "optic_um": 6000,
            "dry_state_hydrophilic": False,
        },
        "drug": "cefuroxime",
    }
    operation = Operation(order, reference_of(day, order), plan, [], surgeon=chance.choice(["S07", "S11"]))
    operation.taps = list(_clean_taps(plan, chance))
    return operation


def _clean_taps(plan: Json, chance: Random) -> Iterator[Tap]:
    """A whole operation in which nothing deviates; the pace varies a little from case to case."""
    at_s = 0
    yield Tap(0, {"type": "room", "moment": "patient_in"})
    for step, value, gap_s in _clean_steps(plan):
        at_s += gap_s + chance.randrange(0, 4)
        yield Tap(at_s, {"type": "step", "step": step, "value": dict(value)})
    yield Tap(at_s + 40, {"type": "room", "moment": "patient_out"})


def _clean_steps(plan: Json) -> Iterator[tuple[str, Json, int]]:
    """Step, value and seconds since the step before."""
    lens = plan["lens"]
    if not isinstance(lens, dict):
        raise TypeError("plan.lens")
    box: Json = {"model": lens["model"], "power_cdpt": lens["power_cdpt"]}
    drug: Json = {"drug": "cefuroxime", "strength_ug_ml": 10_000, "volume_ul": 100}
    yield from [("machine-ready", {}, 15), ("patient-identity", {"match": True}, 20)]
    yield from [("marked-eye", {"eye": plan["eye"]}, 15), ("allergies", {"allergies": ["none"]}, 15)]
    if plan["anaesthesia"] == "block":
        yield "block-eye", {"eye": plan["eye"]}, 30
    yield from [("antiseptic", {"contact_s": 180}, 90), ("time-out", {"eye": plan["eye"]}, 60)]
    yield from [("lens-plan", box, 15), ("drug-check", drug, 15), ("syringe-labels", {"labelled": True}, 12)]
    yield "opening-count", {"items": {"sharps": 4, "cannulas": 5, "sponges": 5, "swabs": 2}}, 15
    yield "main-wound", {"width_um": 2200}, 30
    if plan["red_reflex"] == "poor":
        dye: Json = {"dye": "trypan_blue", "strength_ug_ml": 600, "volume_ul": 500, "in_eye": True}
        yield "dye", {**dye, **_HELD}, 25
    yield from [("viscoelastic-fill", _HELD, 20), ("rhexis", {"diameter_um": 5000, "continuous": True}, 60)]
    yield "hydrodissection", _HELD, 30
    yield "ultrasound-mode", {"mode": "segment", "vacuum_mmhg": 350, "flow_ul_min": 35_000}, 20
    yield "cortex-mode", {"mode": "cortex", "vacuum_mmhg": 450, "flow_ul_min": 35_000}, 150
    yield from [("posterior-capsule", {"state": "intact"}, 60), ("viscoelastic-bag", _HELD, 15)]
    yield from [("lens-box", box, 20), ("lens-placed", {"site": "bag", **box}, 30)]
    yield "washout-mode", {"mode": "ovd_removal", "vacuum_mmhg": 450, "flow_ul_min": 45_000}, 12
    yield "washout", {"front": True, "behind": True}, 25
    yield "wound-hydration", {**_HELD, "syringe_label": "balanced_salt"}, 20
    yield from [("seal-check", {"state": "dry", "method": "sponge"}, 15)]
    yield "intracameral-drug", {**drug, "in_eye": True, **_HELD}, 15
    yield "final-look", {"state": "dry", "tone": "normal"}, 15
    counts: Json = {"sharps": 4, "cannulas": 5, "sponges": 5, "swabs": 2}
    yield "closing-count", {"added": {}, "out": counts}, 40
    parts = ("operation", "lens", "drug", "problems", "aftercare")
    yield "sign-out", dict.fromkeys(parts, True), 25


def _hub_not_held(operation: Operation) -> None:
    operation.value("wound-hydration")["hub_held"] = False
    operation.planted.append(("wound-hydration", "hub_not_held", "G2"))


def _came_off(operation: Operation) -> None:
    operation.value("hydrodissection")["detached"] = True
    operation.planted.append(("hydrodissection", "hub_not_held", "G3"))


def _wide_opening(operation: Operation) -> None:
    operation.value("rhexis")["diameter_um"] = 5600
    operation.planted.append(("rhexis", "out_of_tolerance", "G2"))


def _wide_wound(operation: Operation) -> None:
    operation.value("main-wound")["width_um"] = 3200
    operation.planted.append(("main-wound", "out_of_tolerance", "G1"))


def _caught_dose(operation: Operation) -> None:
    """The second dilution was forgotten at the check, noticed, and read again."""
    at = operation.taps.index(operation.tap("drug-check"))
    wrong: Json = {"drug": "cefuroxime", "vial_ug": 750_000, "diluent_ul": 7500, "volume_ul": 100}
    event: Json = {"type": "step", "step": "drug-check", "value": wrong}
    operation.taps.insert(at, Tap(operation.taps[at].tapped_s - 5, event))
    operation.planted.append(("drug-check", "dose", "G2"))


def _caught_box(operation: Operation) -> None:
    """The first box held another power; a second one was opened."""
    at = operation.taps.index(operation.tap("lens-box"))
    value = dict(operation.value("lens-box"))
    power_cdpt = value["power_cdpt"]
    value["power_cdpt"] = power_cdpt + 100 if isinstance(power_cdpt, int) else power_cdpt
    event: Json = {"type": "step", "step": "lens-box", "value": value}
    operation.taps.insert(at, Tap(operation.taps[at].tapped_s - 8, event))
    operation.planted.append(("lens-box", "readback_mismatch", "G2"))


def _no_sign_out(operation: Operation) -> None:
    operation.drop("sign-out")
    operation.planted.append(("sign-out", "omitted", "G2"))


def _no_brief_count(operation: Operation) -> None:
    operation.drop("closing-count")
    operation.planted.append(("closing-count", "omitted", "G3"))


def _late_wound(operation: Operation) -> None:
    tap = operation.tap("main-wound")
    tap.tapped_s, tap.ago_s = tap.tapped_s + 180, 180
    operation.planted.append(("main-wound", "late_entry", "G1"))


def _wrong_page(operation: Operation) -> None:
    """The machine stood in the segment page at cortex, noticed before entry and turned."""
    at = operation.taps.index(operation.tap("cortex-mode"))
    value: Json = {"mode": "segment", "vacuum_mmhg": 350, "flow_ul_min": 35_000, "noticed": "before_entry"}
    event: Json = {"type": "step", "step": "cortex-mode", "value": value}
    operation.taps.insert(at, Tap(operation.taps[at].tapped_s - 6, event))
    operation.planted.append(("cortex-mode", "wrong_setting", "G1"))


def _fault(operation: Operation) -> None:
    at_s = operation.tap("ultrasound-mode").tapped_s + 30
    operation.taps.append(Tap(at_s, {"type": "fault", "stage": "during", "text": "Handpiece would not prime."}))
    operation.planted.append(("case", "equipment", "G2"))


def _leak(operation: Operation) -> None:
    operation.value("final-look")["tone"] = "soft"
    operation.planted.append(("final-look", "out_of_tolerance", "G2"))


def _tear(operation: Operation) -> None:
    """A torn capsule with the whole branch done, and a three-piece lens in the sulcus by a new plan."""
    operation.value("posterior-capsule").update({"state": "torn", "vitreous": False})
    torn_s = operation.tap("posterior-capsule").tapped_s
    lens = operation.plan["lens"]
    power_cdpt = lens["power_cdpt"] - 100 if isinstance(lens, dict) else 0
    plan: Json = {"model": LENS_MODELS[1], "power_cdpt": power_cdpt}
    branch: list[tuple[str, Json]] = [
        ("tear-hold", {}),
        ("vitrectomy-mode", {"vitreous": False}),
        ("new-lens-plan", {**plan, "site": "sulcus"}),
    ]
    for tap in operation.taps:
        if tap.tapped_s > torn_s:
            tap.tapped_s += 120
    for number, (step, value) in enumerate(branch):
        event: Json = {"type": "step", "step": step, "value": value}
        operation.taps.append(Tap(torn_s + 20 + 30 * number, event))
    operation.value("lens-box").update(plan)
    operation.value("lens-placed").update({**plan, "site": "sulcus"})
    look_s = operation.tap("final-look").tapped_s
    aftercare = dict.fromkeys(("review", "pressure_plan", "retina", "patient_told"), True)
    after: list[tuple[str, Json]] = [("wounds-swept", {}), ("wound-suture", {"sutures": 1})]
    for number, (step, value) in enumerate(after):
        event = {"type": "step", "step": step, "value": value}
        operation.taps.append(Tap(look_s - 6 + 2 * number, event))
    out_s = operation.tap("sign-out").tapped_s
    operation.taps.append(Tap(out_s + 12, {"type": "step", "step": "tear-aftercare", "value": aftercare}))
    operation.planted += [("posterior-capsule", "complication", "G4"), ("lens-placed", "substitution", "G1")]


def _left_unsigned(operation: Operation) -> None:
    operation.is_signed = False
    operation.planted.append(("surgeon-sign-off", "omitted", "G2"))


_Plant = Callable[[Operation], None]
_COMMON: tuple[_Plant, ...] = (
    _hub_not_held,
    _late_wound,
    _no_sign_out,
    _wide_wound,
    _caught_dose,
    _wrong_page,
    _leak,
    _wide_opening,
    _caught_box,
    _fault,
    _left_unsigned,
    _no_brief_count,
)


def _plants_of(day: date) -> list[_Plant | None]:
    """Three deviations a list in turn, with a cannula that came off or a torn capsule now and then."""
    turn = day.toordinal()
    plants: list[_Plant | None] = [None] * CASES_A_LIST
    for number, place in enumerate((1, 3, 5)):
        plants[place] = _COMMON[(turn + 5 * number) % len(_COMMON)]
    if turn % 9 == 0:
        plants[0] = _came_off
    if turn % 23 == 0:
        plants[2] = _tear
    return plants
