"""Weekly counts: judged cases in, one row for every step, kind and grade that had a chance, zeros included.

End of contract section 5. Events of hub_not_held are injections, each by its own grade; all others are deviations.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from server.core.judge.deviation import ON_CASE
from server.core.protocol import Protocol, Step
from server.core.protocol_shape import Json
from server.core.wilson import wilson_95

HUB = "hub_not_held"
CASE_KINDS = ("complication", "contamination", "equipment", "time_overrun")

Cell = tuple[str, str, str]


@dataclass(slots=True)
class JudgedCase:
    """What the counts need of one case.

    deviations: (step, kind, grade, caught) each; steps: step to number of its injections, for every step that was
    due or recorded; hub_events: (step, grade) to number of injections that earn it.
    """

    deviations: list[tuple[str, str, str, bool]] = field(default_factory=list)
    steps: dict[str, int] = field(default_factory=dict)
    hub_events: dict[tuple[str, str], int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CountRow:
    """One row of the weekly counts. Rate and interval are in per cent, of events for hub_not_held, else of cases."""

    step: str
    kind: str
    grade: str
    events: int
    cases_with: int
    chances: int
    caught: int
    rate_per_100: Decimal
    interval: tuple[Decimal, Decimal]


def count(cases: Iterable[JudgedCase], protocol: Protocol) -> list[CountRow]:
    """The rows of one week, sorted by step, kind and grade."""
    tally = _Tally()
    for case in cases:
        tally.add(case)
    # A deviation that this protocol cannot raise (a later one may have) is counted all the same.
    cells = sorted({*possible(protocol), *tally.events})
    return [row for cell in cells if (row := tally.row(cell)) is not None]


def possible(protocol: Protocol) -> list[Cell]:
    """Every step, kind and grade that this protocol can raise, sorted."""
    cells: set[Cell] = set()
    for step in protocol.steps.values():
        for kind, grades in _kinds_of(step, protocol).items():
            cells |= {(step.step, kind, grade) for grade in grades}
    return sorted(cells | set(_of_case(protocol)))


def _kinds_of(step: Step, protocol: Protocol) -> dict[str, set[str]]:
    rules, grades = step.rules, protocol.grades
    kinds: dict[str, set[str]] = {}
    if "omitted" in rules:
        kinds["omitted"] = {
            rules["omitted"]["no_record"],
            *([rules["omitted"]["false"]] if "false" in rules["omitted"] else []),
        }
    kinds["out_of_order"] = _order_grades(step.step, protocol)
    kinds["out_of_tolerance"] = {rule["grade"] for rule in rules.get("tolerance", ())}
    if "dose" in rules:
        outside = grades["dose"]["outside"]
        kinds["dose"] = {outside} if rules["dose"]["place"] == "never_in_eye" else set(grades["dose"].values())
    if "contraindicated" in rules:
        kinds["contraindicated"] = _contraindicated_grades(rules["contraindicated"], grades["contraindicated"])
    if "readback" in rules:
        kinds["readback_mismatch"] = set(grades["readback_mismatch"].values())
    if "settings" in rules:
        kinds["wrong_setting"] = set(grades["wrong_setting"].values())
    if step.asks_hub:
        kinds[HUB] = set(grades[HUB].values())
    if "substitution" in rules:
        names = rules["substitution"]["rule"]
        kinds["substitution"] = {grade for name, grade in grades["substitution"].items() if name.startswith(names)}
    if "count" in rules:
        kinds["count"] = set(grades["count"].values())
    if "complication" in rules:
        kinds["complication"] = {rules["complication"]["grade"]}
    if step.timely:
        kinds["late_entry"] = {grades["late_entry"]}
    return kinds


def _order_grades(step: str, protocol: Protocol) -> set[str]:
    found = {pair.grade for pair in protocol.order if pair.after == step}
    after_last, before_out = protocol.document["after_last"], protocol.document["before_patient_out"]
    if after_last["step"] == step:
        found.add(after_last["grade"])
    if step in before_out["steps"]:
        found.add(before_out["grade"])
    return found


def _contraindicated_grades(rule: Json, grades: Mapping[str, str]) -> set[str]:
    if rule["rule"] == "antiseptic":
        return {grades["in_eye"]}
    if rule["place"] == "never_in_eye":
        return {grades["not_in_eye"]}
    accepted = {grades["not_accepted"]} if "accepted_at" in rule else set()
    return {grades["not_in_eye"], grades["in_eye"]} | accepted


def _of_case(protocol: Protocol) -> list[Cell]:
    grades = protocol.grades
    found = [(ON_CASE, "time_overrun", str(grades["time_overrun"]))]
    for kind in ("equipment", "contamination", "complication"):
        found += [(ON_CASE, kind, grade) for grade in set(grades[kind].values())]
    return found


class _Tally:
    """Adds up cases; nothing leaves it but rows."""

    def __init__(self) -> None:
        self.cases = 0
        self.events: Counter[Cell] = Counter()
        self.cases_with: Counter[Cell] = Counter()
        self.caught: Counter[Cell] = Counter()
        self.met: Counter[str] = Counter()
        self.injections: Counter[str] = Counter()

    def add(self, case: JudgedCase) -> None:
        self.cases += 1
        self.met.update(case.steps.keys())
        self.injections.update(case.steps)
        seen: set[Cell] = set()
        for step, kind, grade, caught in case.deviations:
            cell = (step, kind, grade)
            if kind != HUB:
                seen.add(cell)
                self.events[cell] += 1
                self.caught[cell] += caught
        for (step, grade), injections in case.hub_events.items():
            seen.add((step, HUB, grade))
            self.events[step, HUB, grade] += injections
        self.cases_with.update(seen)

    def row(self, cell: Cell) -> CountRow | None:
        step, kind, grade = cell
        chances = self.cases if step == ON_CASE else self.injections[step] if kind == HUB else self.met[step]
        counted = self.events[cell] if kind == HUB else self.cases_with[cell]
        interval = wilson_95(counted, chances)
        if interval is None:
            return None
        low, high = interval
        rate = Decimal(100 * counted) / Decimal(chances)
        events, cases_with, caught = self.events[cell], self.cases_with[cell], self.caught[cell]
        return CountRow(step, kind, grade, events, cases_with, chances, caught, rate, (100 * low, 100 * high))
