"""One week of one unit: counts, quality figures and the files of the download."""

import io
import zipfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from server.core import export
from server.core.instant import local_text, parse_week, zone_named
from server.core.protocol import Protocol
from server.core.unit_values import read_unit_values
from server.core.weekly import CountRow, JudgedCase, count
from server.core.weekly_readme import limits_in_force
from server.core.weekly_readme import lines as readme_lines
from server.flows.authority import Authority
from server.store import lists, log, projections, units
from server.store.scope import UnitScope, reading
from server.store.tables import ProjectedCase

Quality = dict[str, int | Decimal | None]


@dataclass(frozen=True, slots=True)
class WeekReport:
    """The counts and quality figures of one week."""

    unit: str
    week: str
    protocol: str
    rows: list[CountRow]
    quality: Quality
    readme_lines: list[str]


def report(authority: Authority, unit: str, week: str) -> WeekReport:
    """Counts one ISO week, e.g. 2026-W48. Raises InvalidInput for a week that its year does not have."""
    days = parse_week(week)
    with reading(unit) as scope:
        cases = projections.cases_of_week(scope, week)
        rows = count(_judged(scope, week, cases), authority.protocol)
        quality = _quality(scope, cases, days.monday.isoformat(), days.sunday.isoformat())
        lines = readme_lines(
            quality, _received_until(scope, authority.device), _limits(scope, authority.protocol, cases)
        )
        return WeekReport(unit, week, authority.protocol.name, rows, quality, lines)


def weeks(unit: str) -> list[str]:
    """The weeks that have cases, the latest first."""
    with reading(unit) as scope:
        return list(projections.weeks(scope))


def files(found: WeekReport) -> dict[str, bytes]:
    """The files of the download by name, in the order in which the zip holds them."""
    stem = f"{found.unit}_{found.week}"
    return {
        f"readme_{stem}.txt": export.readme(found.unit, found.week, found.readme_lines),
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
    # A case that was put off before anything was recorded had no chance of anything.
    return [case for case in found.values() if case.steps or case.deviations]


def _quality(scope: UnitScope, cases: Sequence[ProjectedCase], first: str, last: str) -> Quality:
    listed = lists.cases_planned(scope, first, last)
    records = sum(case.records for case in cases)
    late = sum(case.late_records for case in cases)
    judged = [case for case in cases if case.judged]
    operated = [case for case in judged if case.not_operated is None]
    return {
        "cases_listed": len(listed),
        "cases_received": len(cases),
        "listed_not_received": len(listed - projections.known_cases(scope, listed)),
        "without_plan": len(cases) - len(judged),
        "not_operated": len(judged) - len(operated),
        "not_on_the_list": sum(not case.on_list for case in judged),
        "unsigned": sum(not case.signed for case in operated),
        "judged_open": sum(case.judged_open for case in operated),
        "with_unread_entries": sum(case.unread > 0 for case in cases),
        "records": records,
        "live_pct": _share(records - late, records),
        "late_pct": _share(late, records),
        "burst_cases_pct": _share(sum("burst" in case.flags for case in judged), len(judged)),
        "hub_not_asked": sum(case.hub_not_asked for case in judged),
        "signed_after_patient_left": sum(case.signed_after_patient_out for case in judged),
    }


def _share(part: int, whole: int) -> Decimal | None:
    return None if whole == 0 else Decimal(100 * part) / Decimal(whole)


def _received_until(scope: UnitScope, office_log: str) -> str | None:
    """The time of the last entry, not of the download: the same entries give the same files."""
    received_ms = log.last_received_ms(scope, office_log)
    return None if received_ms is None else local_text(received_ms, zone_named(units.time_zone(scope)))


def _limits(scope: UnitScope, protocol: Protocol, cases: Sequence[ProjectedCase]) -> list[str]:
    numbers = Counter(case.unit_values_number for case in cases if case.judged)
    lines: list[str] = []
    for number, values in sorted(units.values_numbered(scope, {n for n in numbers if n is not None}).items()):
        lines += limits_in_force(number, numbers[number], read_unit_values(values, protocol), protocol)
    return lines
