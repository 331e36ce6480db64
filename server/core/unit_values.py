"""The unit's own values (contract section 4): the protocol's defaults with a case's `unit` object laid over them."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from server.core.errors import InvalidInput
from server.core.protocol import Protocol
from server.core.values import describe, need_object, need_text, need_whole

_QUANTITIES = ("vacuum_mmhg", "flow_ul_min")


@dataclass(frozen=True, slots=True)
class Range:
    """Both ends are inside. `card` is the value of the unit's card where the range is that plus or minus `percent`."""

    low: Fraction | int
    high: Fraction | int
    card: int | None = None
    percent: int = 0

    def holds(self, value: int) -> bool:
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Drug:
    """`dose_ug` is the planned dose, None where the unit's list does not say it."""

    dose_ug: int | None
    barred_by: frozenset[str]


@dataclass(frozen=True, slots=True)
class UnitValues:
    """drugs and dyes are whole lists; `dyes` maps a dye to its largest dose in ug, None where it is not said."""

    drugs: Mapping[str, Drug]
    dyes: Mapping[str, int | None]
    dye: str
    modes: Mapping[str, Mapping[str, Range]]
    ranges: Mapping[str, Range]
    limits: Mapping[str, int]


def read_unit_values(value: object, protocol: Protocol) -> UnitValues:
    """Lays `value` over the protocol's own values. Raises InvalidInput under `unit.`; unknown names are ignored."""
    unit = need_object(value, "unit")
    defaults = protocol.unit_values
    drugs = _drugs(unit["drugs"] if "drugs" in unit else defaults["drugs"], protocol)
    dyes = _dyes(unit["dyes"] if "dyes" in unit else defaults["dyes"])
    dye = need_text(unit["dye"], "unit.dye") if "dye" in unit else defaults["dye"]
    modes = _modes(unit.get("modes", {}), protocol)
    ranges = {name: _range(unit.get(name, defaults[name]), f"unit.{name}") for name in protocol.range_names}
    limits = {name: need_whole(unit.get(name, defaults[name]), f"unit.{name}") for name in protocol.limit_names}
    return UnitValues(drugs, dyes, dye, modes, ranges, limits)


def _drugs(value: object, protocol: Protocol) -> dict[str, Drug]:
    drugs = {}
    for name, entry in need_object(value, "unit.drugs").items():
        where = f"unit.drugs.{name}"
        drug = need_object(entry, where)
        dose_ug = need_whole(drug["dose_ug"], f"{where}.dose_ug") if "dose_ug" in drug else None
        barred_by = drug.get("barred_by", [])
        allergies = protocol.document["allergies"]
        if type(barred_by) is not list or not all(type(word) is str and word in allergies for word in barred_by):
            raise InvalidInput(f"{where}.barred_by", describe(barred_by), "a list of " + ", ".join(allergies))
        drugs[name] = Drug(dose_ug, frozenset(barred_by))
    return drugs


def _dyes(value: object) -> dict[str, int | None]:
    dyes = {}
    for name, entry in need_object(value, "unit.dyes").items():
        dye = need_object(entry, f"unit.dyes.{name}")
        dyes[name] = need_whole(dye["max_ug"], f"unit.dyes.{name}.max_ug") if "max_ug" in dye else None
    return dyes


def _modes(value: object, protocol: Protocol) -> dict[str, dict[str, Range]]:
    given = need_object(value, "unit.modes")
    known = protocol.document["modes"]
    for name in given:
        if name not in known:
            raise InvalidInput("unit.modes", describe(name), "one of " + ", ".join(known))
    return {mode: _mode(given.get(mode, {}), mode, protocol) for mode in known}


def _mode(value: object, mode: str, protocol: Protocol) -> dict[str, Range]:
    given = need_object(value, f"unit.modes.{mode}")
    defaults = protocol.unit_values["modes"][mode]
    percent = protocol.fixed["card_tolerance_percent"]
    ranges = {}
    for quantity in _QUANTITIES:
        where = f"unit.modes.{mode}.{quantity}"
        found = given[quantity] if quantity in given else defaults[quantity]
        ranges[quantity] = (
            _card(found, percent) if type(found) is int else _range(found, where, "[low, high] or a card value")
        )
    return ranges


def _card(card: int, percent: int) -> Range:
    """The unit's card plus or minus `percent`, ends included, exact."""
    return Range(Fraction(card * (100 - percent), 100), Fraction(card * (100 + percent), 100), card, percent)


def _range(value: object, where: str, expected: str = "[low, high] in whole numbers") -> Range:
    if type(value) is not list or len(value) != 2 or not all(type(end) is int for end in value):
        raise InvalidInput(where, describe(value), expected)
    return Range(value[0], value[1])
