"""The judge: one case file and one protocol in, every deviation out. Pure, and the same on every machine."""

from collections.abc import Callable

from server.core.case_file import CaseFile
from server.core.judge.contraindicated import contraindicated
from server.core.judge.count import count
from server.core.judge.deviation import Deviation, Judgement
from server.core.judge.dose import dose
from server.core.judge.facts import Facts
from server.core.judge.hub import hub_counts, hub_not_asked, hub_not_held
from server.core.judge.lateness import is_burst, late_entry
from server.core.judge.omitted import omitted
from server.core.judge.order import out_of_order
from server.core.judge.readback import readback_mismatch
from server.core.judge.setting import wrong_setting
from server.core.judge.substitution import substitution
from server.core.judge.tolerance import out_of_tolerance
from server.core.judge.whole_case import complication, contamination, equipment, time_overrun
from server.core.protocol import Protocol

SIGN_OFF = "surgeon-sign-off"

_WHEN_OPEN: tuple[Callable[[Facts], list[Deviation]], ...] = (
    out_of_order,
    out_of_tolerance,
    dose,
    contraindicated,
    readback_mismatch,
    wrong_setting,
    hub_not_held,
    substitution,
    count,
    time_overrun,
    equipment,
    contamination,
    complication,
    late_entry,
)


def judge(
    case_file: CaseFile, protocol: Protocol, *, is_open: bool = False, without_sign_off: bool = False
) -> Judgement:
    """Judges a case: open leaves out every `omitted`; the sign-off screen leaves out the rows of its own step."""
    facts = Facts(case_file, protocol)
    deviations = [found for kind in _WHEN_OPEN for found in kind(facts)]
    if not is_open:
        deviations += omitted(facts)
    if without_sign_off:
        deviations = [found for found in deviations if found.step != SIGN_OFF]
    deviations.sort(key=lambda found: (found.step, found.kind, found.key))
    injections, hub_events = hub_counts(facts)
    return Judgement(
        deviations=tuple(deviations),
        flags=("burst",) if is_burst(facts) else (),
        unread=case_file.unread,
        hub_not_asked=hub_not_asked(facts),
        steps=facts.due | facts.by_step.keys(),
        injections=injections,
        hub_events=hub_events,
    )
