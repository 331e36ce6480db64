"""Brings a theatre list in: the whole file or none of it, in the office log and in the tables together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.core.theatre_list import ONCE, BadCell, BadList, ListRow, parse
from server.core.unit_values import read_unit_values
from server.flows import office_log
from server.flows.authority import Authority
from server.store import lists
from server.store.scope import UnitScope, reading, writing
from server.store.tables import ListSlot
from server.store.units import latest_values


@dataclass(frozen=True, slots=True)
class ImportedList:
    """What one import did to one list; slots are matched by reference and eye."""

    list_name: str
    date: str
    theatre: str
    added: int
    changed: int
    withdrawn: int
    unchanged: int


def import_lists(authority: Authority, unit: str, data: bytes, now_ms: int) -> list[ImportedList]:
    """Imports every list that the file holds. Raises BadList that names every bad cell; then nothing is kept."""
    with writing(unit) as scope:
        values = read_unit_values(latest_values(scope)[1], authority.protocol)
        rows = parse(data, list(values.drugs))
        by_list: dict[str, list[ListRow]] = {}
        for row in rows:
            by_list.setdefault(_name(unit, row), []).append(row)
        _refuse_met_elsewhere(scope, by_list)
        return [_import(scope, authority, name, by_list[name], now_ms) for name in sorted(by_list)]


def _name(unit: str, row: ListRow) -> str:
    return f"{unit}_{row.date}_{row.theatre}"


def _refuse_met_elsewhere(scope: UnitScope, by_list: Mapping[str, Sequence[ListRow]]) -> None:
    """Refuses an operation that stands on a list of that day which this file does not replace (see core)."""
    days = {row.date for rows in by_list.values() for row in rows}
    held = {
        (day, slot.reference, slot.eye): slot.list
        for day in sorted(days)
        for slot in lists.slots_between(scope, day, day)
        if slot.list not in by_list
    }
    bad = [
        BadCell(row.line, "reference", f"{row.reference}, {row.eye} eye, as on the list {elsewhere}", ONCE["reference"])
        for rows in by_list.values()
        for row in rows
        if (elsewhere := held.get((row.date, row.reference, row.eye))) is not None
    ]
    if bad:
        raise BadList(sorted(bad, key=lambda cell: cell.line))


def lists_of(unit: str, first: str, last: str) -> list[dict[str, Any]]:
    """The lists of the days from `first` to `last`, with their slots, as tablets and the office show them."""
    with reading(unit) as scope:
        return [
            {
                "list": found.list,
                "date": found.date,
                "theatre": found.theatre,
                "rows": [_shown(slot) for slot in lists.slots(scope, found.list) if not slot.withdrawn],
            }
            for found in lists.between(scope, first, last)
        ]


def _import(scope: UnitScope, authority: Authority, name: str, rows: Sequence[ListRow], now_ms: int) -> ImportedList:
    head = {"list": name, "date": rows[0].date, "theatre": rows[0].theatre}
    held = {(slot.reference, slot.eye): _columns(slot) for slot in lists.slots(scope, name)}
    new = {(row.reference, row.eye): _slot(row) for row in rows}
    # What a later import leaves out is taken off the list; a case that was opened from it stays.
    left_out = [slot for key, slot in held.items() if key not in new]
    slots = [*new.values(), *({**slot, "withdrawn": True} for slot in left_out)]
    lists.put(scope, {**head, "imported_at_ms": now_ms}, slots)
    planned = [{"order": row.order, "reference": row.reference, "plan": row.plan} for row in rows]
    event = {"type": "list_imported", **head, "rows": planned}
    office_log.append(scope, authority, event, now_ms, office_log.Sealed())
    added = sum(key not in held for key in new)
    changed = sum(key in held and held[key] != slot for key, slot in new.items())
    return ImportedList(
        name,
        rows[0].date,
        rows[0].theatre,
        added=added,
        changed=changed,
        withdrawn=sum(not slot["withdrawn"] for slot in left_out),
        unchanged=len(new) - added - changed,
    )


def _slot(row: ListRow) -> dict[str, Any]:
    lens = row.plan["lens"]
    return {
        "reference": row.reference,
        "eye": row.eye,
        "order": row.order,
        "anaesthesia": row.plan["anaesthesia"],
        "red_reflex": row.plan["red_reflex"],
        "lens_model": lens["model"],
        "lens_power_cdpt": lens["power_cdpt"],
        "lens_optic_um": lens["optic_um"],
        "lens_dry_state_hydrophilic": lens["dry_state_hydrophilic"],
        "drug": row.plan["drug"],
        "withdrawn": False,
    }


def _columns(slot: ListSlot) -> dict[str, Any]:
    return {name: getattr(slot, name) for name in _COLUMNS}


_COLUMNS = (
    "reference",
    "eye",
    "order",
    "anaesthesia",
    "red_reflex",
    "lens_model",
    "lens_power_cdpt",
    "lens_optic_um",
    "lens_dry_state_hydrophilic",
    "drug",
    "withdrawn",
)


def _shown(slot: ListSlot) -> dict[str, Any]:
    lens = {
        "model": slot.lens_model,
        "power_cdpt": slot.lens_power_cdpt,
        "optic_um": slot.lens_optic_um,
        "dry_state_hydrophilic": slot.lens_dry_state_hydrophilic,
    }
    row = {name: getattr(slot, name) for name in ("order", "reference", "eye", "anaesthesia", "red_reflex", "drug")}
    return {**row, "lens": lens}
