"""Brings a theatre list in: the whole file or none of it, in the office log and in the tables together."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from server.core.theatre_list import ListRow, parse
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
        by_list: dict[tuple[str, str], list[ListRow]] = {}
        for row in rows:
            by_list.setdefault((row.date, row.theatre), []).append(row)
        return [
            _import(scope, authority, day, theatre, by_list[day, theatre], now_ms) for day, theatre in sorted(by_list)
        ]


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


def _import(
    scope: UnitScope, authority: Authority, day: str, theatre: str, rows: Sequence[ListRow], now_ms: int
) -> ImportedList:
    name = f"{scope.unit}_{day}_{theatre}"
    held = {(slot.reference, slot.eye): slot for slot in lists.slots(scope, name)}
    new = {(row.reference, row.eye): _slot(row) for row in rows}
    # What a later import leaves out is taken off the list; a case that was opened from it stays.
    gone = [{**_columns(slot), "withdrawn": True} for key, slot in held.items() if key not in new]
    head = {"list": name, "date": day, "theatre": theatre, "imported_at_ms": now_ms}
    lists_before = {key: _columns(slot) for key, slot in held.items()}
    lists.put(scope, head, [*new.values(), *gone])
    event = {"type": "list_imported", "list": name, "date": day, "theatre": theatre}
    slots = [{"order": row.order, "reference": row.reference, "plan": row.plan} for row in rows]
    office_log.append(scope, authority, {**event, "rows": slots}, now_ms, office_log.Sealed())
    changed = sum(key in lists_before and lists_before[key] != slot for key, slot in new.items())
    added = sum(key not in lists_before for key in new)
    return ImportedList(name, day, theatre, added, changed, len(gone), len(new) - added - changed)


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
