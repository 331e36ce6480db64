"""Conditions of the protocol file: small expressions over the facts of a case, true or false.

Two-valued: an absent value equals nothing and is neither above nor below anything; `not` turns that round.
`parse` refuses any expression that it does not wholly understand; `holds` then never fails on facts.
"""

from collections.abc import Callable, Mapping
from typing import Any

from server.core.errors import InvalidInput

Facts = Mapping[str, Any]
Expression = Callable[[Facts], object]

FACTS = (
    "plan",
    "torn",
    "every_drug_barred",
    "dye_barred_by_planned_lens",
    "fixed",
    "records",
    "last",
    "not_done",
    "it",
)


def holds(condition: Expression, facts: Facts) -> bool:
    """True only where the condition is met."""
    return condition(facts) is True


def parse(expression: object, where: str) -> Expression:
    """Compiles one expression, e.g. ["==", ["ref", "plan", "eye"], ["lit", "left"]]. Raises InvalidInput."""
    if not isinstance(expression, list) or not expression or not isinstance(expression[0], str):
        raise InvalidInput(where, "no expression", "a list that begins with an operator")
    operator, operands = expression[0], expression[1:]
    build = _OPERATORS.get(operator)
    if build is None:
        raise InvalidInput(where, f"the operator {operator}", "one of " + ", ".join(_OPERATORS))
    least, most, make = build
    if not least <= len(operands) <= most:
        raise InvalidInput(where, f"{len(operands)} operands of {operator}", f"{least} to {most}")
    return make(operands, where)


def _parse_all(operands: list[object], where: str) -> list[Expression]:
    return [parse(operand, where) for operand in operands]


def _literal(operands: list[object], where: str) -> Expression:
    value = operands[0]
    if not isinstance(value, bool | int | str):
        raise InvalidInput(where, "another literal", "true, false, a whole number or text")
    return lambda _facts: value


def _reference(operands: list[object], where: str) -> Expression:
    path = [str(name) for name in operands]
    if path[0] not in FACTS:
        raise InvalidInput(where, f"the fact {path[0]}", "one of " + ", ".join(FACTS))

    def look_up(facts: Facts) -> object:
        value: object = facts
        for name in path:
            value = value.get(name) if isinstance(value, Mapping) else None
        return value

    return look_up


def _equal(operands: list[object], where: str) -> Expression:
    left, right = _parse_all(operands, where)

    def equal(facts: Facts) -> bool:
        a, b = left(facts), right(facts)
        return a is not None and type(a) is type(b) and a == b

    return equal


def _compare(test: Callable[[int, int], bool]) -> Callable[[list[object], str], Expression]:
    def make(operands: list[object], where: str) -> Expression:
        left, right = _parse_all(operands, where)

        def compare(facts: Facts) -> bool:
            a, b = left(facts), right(facts)
            return type(a) is int and type(b) is int and test(a, b)

        return compare

    return make


def _and(operands: list[object], where: str) -> Expression:
    parts = _parse_all(operands, where)
    return lambda facts: all(part(facts) is True for part in parts)


def _or(operands: list[object], where: str) -> Expression:
    parts = _parse_all(operands, where)
    return lambda facts: any(part(facts) is True for part in parts)


def _not(operands: list[object], where: str) -> Expression:
    (part,) = _parse_all(operands, where)
    return lambda facts: part(facts) is not True


def _in(operands: list[object], where: str) -> Expression:
    wanted, items = _parse_all(operands, where)

    def contains(facts: Facts) -> bool:
        value, found = wanted(facts), items(facts)
        return isinstance(found, list) and any(type(item) is type(value) and item == value for item in found)

    return contains


def _matches(operands: list[object], where: str) -> Callable[[Facts], int]:
    items, test = _parse_all(operands, where)

    def matches(facts: Facts) -> int:
        found = items(facts)
        if not isinstance(found, list):
            return 0
        return sum(test({**facts, "it": item}) is True for item in found)

    return matches


def _any(operands: list[object], where: str) -> Expression:
    matches = _matches(operands, where)
    return lambda facts: matches(facts) > 0


def _count(operands: list[object], where: str) -> Expression:
    return _matches(operands, where)


_MANY = 99
_OPERATORS: dict[str, tuple[int, int, Callable[[list[object], str], Expression]]] = {
    "lit": (1, 1, _literal),
    "ref": (1, _MANY, _reference),
    "==": (2, 2, _equal),
    ">": (2, 2, _compare(lambda a, b: a > b)),
    ">=": (2, 2, _compare(lambda a, b: a >= b)),
    "<": (2, 2, _compare(lambda a, b: a < b)),
    "<=": (2, 2, _compare(lambda a, b: a <= b)),
    "and": (1, _MANY, _and),
    "or": (1, _MANY, _or),
    "not": (1, 1, _not),
    "in": (2, 2, _in),
    "any": (2, 2, _any),
    "count": (2, 2, _count),
}
