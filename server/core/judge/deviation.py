"""What the judge says: deviations, and the judgement that weekly counts are made of."""

from collections.abc import Mapping
from dataclasses import dataclass

ON_CASE = "case"


@dataclass(frozen=True, slots=True)
class Deviation:
    """One deviation. `grade` is G1 to G4; `key` names it for good, so that the surgeon can answer it."""

    step: str
    kind: str
    grade: str
    key: str
    caught: bool
    detail: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """One judged case.

    steps: codes of the steps that were due or recorded; injections: step to number of injections;
    hub_events: (step, grade) to number of injections that earned it; unread: entries this version cannot read.
    """

    deviations: tuple[Deviation, ...]
    flags: tuple[str, ...]
    unread: int
    hub_not_asked: int
    steps: frozenset[str]
    injections: Mapping[str, int]
    hub_events: Mapping[tuple[str, str], int]


def deviation(step: str, kind: str, earned: list[tuple[str, bool, str]]) -> list[Deviation]:
    """At most one deviation for a step and kind, from what its records earn: (grade, caught, detail) each.

    Its grade is the highest, and it is caught only if each of them is (contract section 5).
    """
    if not earned:
        return []
    grade = max(grade for grade, _caught, _detail in earned)
    caught = all(caught for _grade, caught, _detail in earned)
    details = dict.fromkeys(detail for _grade, _caught, detail in earned)
    return [Deviation(step, kind, grade, f"{step}/{kind}", caught, "; ".join(details))]
