"""Judged cases as rows: disposable, written from the logs by flows/project.py and read by the weekly counts."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import delete, select

from server.core.judge.deviation import Judgement
from server.store.scope import UnitScope
from server.store.tables import ProjectedCase, ProjectedDeviation, ProjectedHubEvent, ProjectedStep

# Children first: their rows point at the case.
_CHILDREN = (ProjectedDeviation, ProjectedStep, ProjectedHubEvent)


def replace(
    scope: UnitScope, case_row: Mapping[str, Any], judgement: Judgement | None, answers: Mapping[str, Any]
) -> None:
    """Puts the rows of one case in the place of those that stood there."""
    remove(scope, case_row["case"])
    case = {"case": case_row["case"]}
    scope.add(ProjectedCase, [case_row])
    if judgement is None:
        return
    scope.add(
        ProjectedDeviation,
        (
            {
                **case,
                "key": found.key,
                "step": found.step,
                "kind": found.kind,
                "grade": found.grade,
                "caught": found.caught,
                "detail": found.detail,
                "answer": answers.get(found.key),
            }
            for found in judgement.deviations
        ),
    )
    scope.add(
        ProjectedStep,
        ({**case, "step": s, "injections": judgement.injections.get(s, 0)} for s in sorted(judgement.steps)),
    )
    scope.add(
        ProjectedHubEvent,
        (
            {**case, "step": step, "grade": grade, "injections": count}
            for (step, grade), count in sorted(judgement.hub_events.items())
        ),
    )


def remove(scope: UnitScope, case: str) -> None:
    """Takes the rows of one case away."""
    for table in _CHILDREN:
        scope.change(delete(table).where(table.case == case))
    scope.change(delete(ProjectedCase).where(ProjectedCase.case == case))


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
    """Those of these cases of which something has been received."""
    return set(scope.values(select(ProjectedCase.case).where(ProjectedCase.case.in_(sorted(cases)))))


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
