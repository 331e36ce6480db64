"""One week of one unit: counts, quality figures and the files of the download."""

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from server.core import export
from server.core.instant import parse_week
from server.core.weekly import CountRow, JudgedCase, count
from server.flows.authority import Authority
from server.store import lists, projections
from server.store.scope import UnitScope, reading
from server.store.tables import ProjectedCase

CAUTIONS = (
    (
        "This records what the team said and did. It does not diagnose, advise treatment, set or read any machine, "
        "or calculate a lens."
    ),
    "Associations in small numbers; not a measure of any person. A week shows neither improvement nor decline.",
    "A tick is not the deed: that ticking prevents any harm has not been shown.",
    (
        "Grades say what happened to a barrier, not to a patient: G1 note, G2 barrier weakened, G3 barrier lost, "
        "G4 complication or never-event class. Our own scale, unvalidated."
    ),
    "hub_not_held means: lock not checked or hub not held.",
    "Local policy, the drug label and licensed practice come first.",
)
_DEFINITIONS = (
    "events: deviations of that step, kind and grade; for hub_not_held the injections that earn it.",
    (
        "cases_with: cases with at least one. chances: cases in which the step was due or recorded; for hub_not_held "
        "the injections of that step; for case the number of cases."
    ),
    "caught: noticed and put right before it reached the eye. Catching more is good news.",
    "rate_per_100 and its 95 % Wilson interval: of events per chance for hub_not_held, else of cases_with.",
    "Weeks are ISO weeks in the unit's time zone; a case belongs to the week of its patient-in time.",
    "A case that was neither signed nor left by its patient is judged open: what is missing in it is not counted.",
)

Quality = dict[str, int | Decimal | None]


@dataclass(frozen=True, slots=True)
class WeekReport:
    """The counts and quality figures of one week."""

    unit: str
    week: str
    protocol: str
    rows: list[CountRow]
    quality: Quality


def report(authority: Authority, unit: str, week: str) -> WeekReport:
    """Counts one ISO week, e.g. 2026-W48. Raises InvalidInput for a week that its year does not have."""
    parsed = parse_week(week)
    with reading(unit) as scope:
        cases = projections.cases_of_week(scope, week)
        rows = count(_judged(scope, week, cases), authority.protocol)
        days = (parsed.monday.isoformat(), parsed.sunday.isoformat())
        return WeekReport(unit, week, authority.protocol.name, rows, _quality(scope, cases, days))


def weeks(unit: str) -> list[str]:
    """The weeks that have cases, the latest first."""
    with reading(unit) as scope:
        return list(projections.weeks(scope))


def files(found: WeekReport) -> dict[str, bytes]:
    """The files of the download by name, in the order in which the zip holds them."""
    stem = f"{found.unit}_{found.week}"
    lines = _readme_lines(found)
    return {
        f"readme_{stem}.txt": export.readme(found.unit, found.week, lines),
        f"counts_{stem}_INTERNAL.csv": export.counts_csv(found.unit, found.week, found.protocol, found.rows),
        f"quality_{stem}_INTERNAL.csv": export.quality_csv(found.unit, found.week, found.quality),
    }


def zipped(found: WeekReport) -> bytes:
    """All files in one zip; the same week gives the same bytes."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files(found).items():
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def _judged(scope: UnitScope, week: str, cases: Sequence[ProjectedCase]) -> list[JudgedCase]:
    found = {case.case: JudgedCase() for case in cases if case.judged}
    for deviation in projections.deviations_of_week(scope, week):
        row = (deviation.step, deviation.kind, deviation.grade, deviation.caught)
        found[deviation.case].deviations.append(row)
    for step in projections.steps_of_week(scope, week):
        found[step.case].steps[step.step] = step.injections
    for hub in projections.hub_events_of_week(scope, week):
        found[hub.case].hub_events[hub.step, hub.grade] = hub.injections
    return list(found.values())


def _quality(scope: UnitScope, cases: Sequence[ProjectedCase], days: tuple[str, str]) -> Quality:
    slots = {(slot.list, slot.reference) for slot in lists.slots_between(scope, *days)}
    records = sum(case.records for case in cases)
    late = sum(case.late_records for case in cases)
    bursts = sum("burst" in case.flags for case in cases)
    judged = [case for case in cases if case.judged]
    return {
        "cases_listed": len(slots),
        "cases_received": len(judged),
        "not_operated": sum(case.not_operated is not None for case in cases),
        "not_on_the_list": sum(not case.on_list for case in judged),
        "unsigned": sum(not case.signed for case in judged),
        "judged_open": sum(case.judged_open for case in judged),
        "with_unread_entries": sum(case.unread > 0 for case in cases),
        "records": records,
        "live_pct": _share(records - late, records),
        "late_pct": _share(late, records),
        "burst_cases_pct": _share(bursts, len(judged)),
        "hub_not_asked": sum(case.hub_not_asked for case in judged),
        "signed_after_patient_left": sum(case.signed_after_patient_out for case in judged),
    }


def _share(part: int, whole: int) -> Decimal | None:
    return None if whole == 0 else Decimal(100 * part) / Decimal(whole)


def _readme_lines(found: WeekReport) -> list[str]:
    """Whether the week is whole and the ticks can be believed stands first."""
    quality = [f"{name}: {export.shown(v) if isinstance(v, Decimal) else v}" for name, v in found.quality.items()]
    return [
        *quality,
        "",
        "Cautions",
        *CAUTIONS,
        "",
        "Definitions",
        *_DEFINITIONS,
        f"Steps, grades and thresholds: {found.protocol}, with the unit's values that each case was opened with.",
    ]
