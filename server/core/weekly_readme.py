"""What stands beside the weekly counts: the figures to read first, cautions, definitions and limits in force.

Lines of text only; core/export.py makes the file. Sources of the figures stand in the protocol file's sources.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from server.core.export import shown as shown_share
from server.core.protocol import Protocol
from server.core.quantity import decimal, shown
from server.core.unit_values import Range, UnitValues

Quality = Mapping[str, int | Decimal | None]

QUALITY = {
    "cases_listed": "operations on the theatre lists of these days",
    "cases_received": "cases of which the server has entries",
    "listed_not_received": "on a list, and nothing received: still on a tablet, not recorded, or not operated",
    "without_plan": "received, but what was planned has not come in yet: not counted below",
    "not_operated": "recorded as not operated",
    "not_on_the_list": "opened by hand, not from a list",
    "unsigned": "no surgeon's signature yet",
    "judged_open": "neither signed nor left by the patient: what is missing in them is not counted",
    "with_unread_entries": "with entries that this version cannot read",
    "records": "steps recorded, those of the whole list left out",
    "live_pct": "entered when they happened, per cent of records",
    "late_pct": "entered late, per cent of records",
    "burst_cases_pct": "with several entries within seconds, per cent of cases",
    "hub_not_asked": "injections recorded without the hub question: not among the chances of hub_not_held",
    "signed_after_patient_left": "signed after the patient left",
}
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
    "A dose is arithmetic on what was entered; it cannot see the vial, the mixing or the syringe.",
    (
        "Dry on a sponge is not watertight: of 500 clear corneal wounds 48.8 % leaked by themselves and 97.6 % "
        "with up to one ounce of force (MASK14)."
    ),
    "Eye pressure without an instrument is felt, not measured.",
    "Late and burst figures measure how the tool fits the room first, staff second.",
    "No week is meant to have no deviation: a unit with none is not recording.",
    "Local policy, the drug label and licensed practice come first.",
)
DEFINITIONS = (
    "events: deviations of that step, kind and grade; for hub_not_held the injections that earn it.",
    (
        "cases_with: cases with at least one. chances: cases in which the step was due or recorded; for hub_not_held "
        "the injections of that step; for case the number of cases."
    ),
    "caught: noticed and put right before it reached the eye. Catching more is good news.",
    (
        "rate_per_100, ci95_low, ci95_high: share and its 95 % Wilson interval (Wilson 1927), in per cent: events of "
        "chances for hub_not_held, else cases_with of chances."
    ),
    "Weeks are ISO weeks in the unit's time zone; a case belongs to the week of its patient-in time.",
    "Of a case that was not operated only what was recorded counts: nothing in it was due.",
    "Practice cases are left out.",
    "release: INTERNAL files hold true counts and stay in the unit.",
)


def lines(quality: Quality, received_until: str | None, limits: Sequence[str]) -> list[str]:
    """The whole text. Whether the week is whole and the ticks can be believed stands first.

    received_until: local time of the last entry that came in, None where none ever did.
    """
    counted_from = (
        "nothing: no tablet had sent an entry" if received_until is None else f"what had come in by {received_until}"
    )
    return [
        "Is this all, and can it be believed?",
        f"Counted from {counted_from}. What a tablet still holds is not in it.",
        *(f"{name}: {_figure(value)} ({QUALITY[name]})" for name, value in quality.items()),
        "",
        "Cautions",
        *CAUTIONS,
        "",
        "Definitions",
        *DEFINITIONS,
        "",
        *limits,
    ]


def limits_in_force(number: int, cases: int, values: UnitValues, protocol: Protocol) -> list[str]:
    """The unit's values that so many cases of the week were opened with."""
    ranges = [f"{name}: {_range(name, found)}" for name, found in sorted(values.ranges.items())]
    limits = [f"{name}: {shown(name, found)}" for name, found in sorted(values.limits.items())]
    modes = [
        f"{mode} {name}: {_range(name, found)}"
        for mode, quantities in values.modes.items()
        for name, found in quantities.items()
    ]
    drugs = [
        f"{name}: dose {'not set' if drug.dose_ug is None else _mass(drug.dose_ug)}, "
        f"barred by {', '.join(sorted(drug.barred_by)) or 'nothing'}"
        for name, drug in values.drugs.items()
    ]
    dyes = [
        f"{name}: {'no limit' if max_ug is None else f'at most {_mass(max_ug)}'}"
        for name, max_ug in values.dyes.items()
    ]
    return [
        f"Limits in force: {protocol.name}, unit values number {number} (cases: {cases})",
        "Set by your unit; check against your preference card and the drug label.",
        *ranges,
        *limits,
        *modes,
        *drugs,
        *dyes,
        f"planned dye: {values.dye}",
        "",
    ]


def _figure(value: int | Decimal | None) -> str:
    if value is None:
        return "none to count"
    return shown_share(value) if isinstance(value, Decimal) else str(value)


def _range(name: str, found: Range) -> str:
    if found.card is not None:
        return f"card {shown(name, found.card)} and its tolerance"
    return f"{shown(name, int(found.low))} to {shown(name, int(found.high))}"


def _mass(ug: int) -> str:
    return f"{decimal(ug, 3)} mg"
