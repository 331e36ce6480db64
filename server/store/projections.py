"""Judged cases as rows: disposable, written from the logs by flows/project.py and read by the weekly counts."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, func, select

from server.core.judge.deviation import Judgement
from server.core.statement import answer_for
from server.store.scope import UnitScope
from server.store.tables import ProjectedCase, ProjectedDeviation, ProjectedHubEvent, ProjectedStep

Row = dict[str, Any]

# Children first: their rows point at the case.
_CHILDREN = (ProjectedDeviation, ProjectedStep, ProjectedHubEvent)


@dataclass(frozen=True, slots=True)
class JudgedCase:
    """One case as it goes into the projections: its row, its judgement where it has a plan, the surgeon's answers."""

    row: Row
    judgement: Judgement | None
    answers: Mapping[str, Row]


def replace(scope: UnitScope, judged: Sequence[JudgedCase]) -> None:
    """Puts the rows of these cases in the place of those that stood there."""
    cases = [one.row["case"] for one in judged]
    for table in _CHILDREN:
        scope.change(delete(table).where(table.case.in_(cases)))
    scope.change(delete(ProjectedCase).where(ProjectedCase.case.in_(cases)))
    scope.add(ProjectedCase, (one.row for one in judged))
    found = [(one.row["case"], one.judgement, one.answers) for one in judged if one.judgement is not None]
    scope.add(ProjectedDeviation, (row for one in found for row in _deviations(*one)))
    scope.add(ProjectedStep, (row for case, judgement, _answers in found for row in _steps(case, judgement)))
    scope.add(ProjectedHubEvent, (row for case, judgement, _answers in found for row in _hub_events(case, judgement)))


def _deviations(case: str, judgement: Judgement, answers: Mapping[str, Row]) -> Iterable[Row]:
    for found in judgement.deviations:
        place = {"case": case, "key": found.key, "step": found.step, "kind": found.kind}
        said = {"grade": found.grade, "caught": found.caught, "detail": found.detail}
        yield {**place, **said, "answer": answer_for(found, answers)}


def _steps(case: str, judgement: Judgement) -> Iterable[Row]:
    for step in sorted(judgement.steps):
        yield {"case": case, "step": step, "injections": judgement.injections.get(step, 0)}


def _hub_events(case: str, judgement: Judgement) -> Iterable[Row]:
    for (step, grade), count in sorted(judgement.hub_events.items()):
        yield {"case": case, "step": step, "grade": grade, "injections": count}


def case_count(scope: UnitScope) -> int:
    """The number of cases of the unit."""
    return scope.one(select(func.count(ProjectedCase.case))) or 0


def remove_all(scope: UnitScope) -> None:
    """Takes the rows of every case of the unit away."""
    for table in _CHILDREN:
        scope.change(delete(table))
    scope.change(delete(ProjectedCase))


def cases_of_lists(scope: UnitScope, lists: Iterable[str]) -> set[str]:
    """The cases that were opened on one of these lists."""
    return set(scope.values(select(ProjectedCase.case).where(ProjectedCase.list.in_(sorted(lists)))))


def cases_of_week(scope: UnitScope, week: str) -> Sequence[ProjectedCase]:
    """The judged cases of one ISO week, practice cases left out."""
    wanted = (ProjectedCase.week == week) & ~ProjectedCase.practice
    return scope.values(select(ProjectedCase).where(wanted).order_by(ProjectedCase.case)).all()


def known_cases(scope: UnitScope, cases: Iterable[str]) -> set[str]:
    """Those of these cases of which something has been received that was no practice and was not moved away."""
    wanted = ProjectedCase.case.in_(sorted(cases)) & ~ProjectedCase.practice & ProjectedCase.moved_to.is_(None)
    return set(scope.values(select(ProjectedCase.case).where(wanted)))


def deviations_of_week(scope: UnitScope, week: str) -> Sequence[ProjectedDeviation]:
    """Every deviation of the cases of one week."""
    statement = select(ProjectedDeviation).where(ProjectedDeviation.case.in_(_in_week(week)))
    return scope.values(statement.order_by(ProjectedDeviation.case, ProjectedDeviation.key)).all()


def steps_of_week(scope: UnitScope, week: str) -> Sequence[ProjectedStep]:
    """Every step that was due or recorded in the cases of one week."""
    return scope.values(select(ProjectedStep).where(ProjectedStep.case.in_(_in_week(week)))).all()


def hub_events_of_week(scope: UnitScope, week: str) -> Sequence[ProjectedHubEvent]:
    """Injections of the week that earn a grade of hub_not_held."""
    return scope.values(select(ProjectedHubEvent).where(ProjectedHubEvent.case.in_(_in_week(week)))).all()


def weeks(scope: UnitScope) -> Sequence[str]:
    """The weeks that have cases, the latest first."""
    wanted = ProjectedCase.week.is_not(None) & ~ProjectedCase.practice
    found = scope.values(select(ProjectedCase.week).where(wanted).distinct())
    return sorted((week for week in found if week is not None), reverse=True)


def _in_week(week: str) -> Any:
    return select(ProjectedCase.case).where((ProjectedCase.week == week) & ~ProjectedCase.practice)
