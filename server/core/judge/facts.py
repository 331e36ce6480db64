"""The facts of one case that several kinds of deviation need: records by step, allergies, whether it is torn."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from server.core.case_file import CaseFile, Record
from server.core.condition import holds
from server.core.protocol import Protocol
from server.core.unit_values import UnitValues

_NONE: list[Record] = []


class Facts:
    """One case file seen through one protocol. Records of a step stand in order of at_ms, then id."""

    def __init__(self, case_file: CaseFile, protocol: Protocol) -> None:
        self.case_file = case_file
        self.protocol = protocol
        self.plan = case_file.plan
        self.unit: UnitValues = case_file.unit
        self.by_step: dict[str, list[Record]] = {}
        for record in case_file.records:
            self.by_step.setdefault(record.step.step, []).append(record)

    def records(self, step: str) -> list[Record]:
        return self.by_step.get(step, _NONE)

    def first(self, step: str) -> Record | None:
        """The first record; for steps that count only in the eye, the first in the eye."""
        found = self.counting(step)
        return found[0] if found else None

    def last(self, step: str) -> Record | None:
        found = self.records(step)
        return found[-1] if found else None

    def counting(self, step: str) -> list[Record]:
        """The records that meet the step: all, or those in the eye where only these count."""
        found = self.records(step)
        if found and self.protocol.steps[step].in_eye_only:
            return [record for record in found if record.in_eye]
        return found

    @cached_property
    def allergies(self) -> frozenset[str]:
        """All that stand in any allergies record."""
        return frozenset(
            allergy for record in self.records("allergies") for allergy in record.value.get("allergies", ())
        )

    @cached_property
    def torn_at_ms(self) -> int | None:
        """When the first torn record happened, None where the capsule is not torn."""
        tear = self.protocol.document["tear"]
        times = [r.at_ms for r in self.records(tear["step"]) if r.get(tear["field"]) == tear["choice"]]
        return times[0] if times else None

    def is_drug_barred(self, drug: str) -> bool:
        listed = self.unit.drugs.get(drug)
        return listed is not None and not listed.barred_by.isdisjoint(self.allergies)

    def is_dye_barred(self, dye: str) -> bool:
        """Barred by the planned lens; a dye that the unit does not list is not known to be."""
        barred = self.protocol.fixed["dyes_barred_by_dry_state_hydrophilic"]
        return dye in barred and dye in self.unit.dyes and self.plan["lens"]["dry_state_hydrophilic"]

    def in_force(self, step: str, at_ms: int) -> Record | None:
        """The last record of `step` that is not later than `at_ms`."""
        found = [record for record in self.records(step) if record.at_ms <= at_ms]
        return found[-1] if found else None

    @cached_property
    def due(self) -> frozenset[str]:
        """The codes of the steps that are due."""
        terms = self._terms
        return frozenset(code for code, step in self.protocol.steps.items() if holds(step.due, terms))

    @property
    def _terms(self) -> Mapping[str, Any]:
        """What the conditions of the protocol file may speak of."""
        not_done: dict[str, list[object]] = {}
        for event in self.case_file.others:
            if event["type"] == "not_done" and "reason" in event:
                not_done.setdefault(event["step"], []).append(event["reason"])
        return {
            "plan": self.plan,
            "torn": self.torn_at_ms is not None,
            "every_drug_barred": all(self.is_drug_barred(drug) for drug in self.unit.drugs),
            "dye_barred_by_planned_lens": self.is_dye_barred(self.unit.dye),
            "fixed": self.protocol.fixed,
            "records": {step: [record.value for record in found] for step, found in self.by_step.items()},
            "last": {step: found[-1].value for step, found in self.by_step.items()},
            "not_done": not_done,
        }
