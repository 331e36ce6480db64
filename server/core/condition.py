"""Conditions of the protocol file: small expressions over the facts of a case, true or false.

Two-valued: an absent value equals nothing and is neither above nor below anything; `not` turns that round.
`parse` refuses any expression that it does not wholly understand; `holds` then never fails on facts.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from server.core.errors import InvalidInput

Facts = Mapping[str, Any]
Expression = Callable[[Facts], object]


@dataclass(frozen=True, slots=True)
class ConditionNames:
    """What references may name: paths below `plan`, members of `fixed`, and the fields of each step.

    `words` holds what may stand at "plan.eye", "rhexis.state" or "not_done.rhexis", where that is one of a list.
    """

    plan: frozenset[str]
    fixed: frozenset[str]
    fields_of: Mapping[str, frozenset[str]]
    words: Mapping[str, list[str]]


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an expression stands: for messages, what it may name, and the step whose values `it` stands for."""

    where: str
    names: ConditionNames
    of: str | None = None


def holds(condition: Expression, facts: Facts) -> bool:
    """True only where the condition is met."""
    return condition(facts) is True


def parse(expression: object, where: str, names: ConditionNames) -> Expression:
    """Compiles one expression, e.g. ["==", ["ref", "plan", "eye"], ["lit", "left"]]. Raises InvalidInput."""
    return _parse(expression, _Place(where, names))


def _parse(expression: object, place: _Place) -> Expression:
    if not isinstance(expression, list) or not expression or not isinstance(expression[0], str):
        raise InvalidInput(place.where, "no expression", "a list that begins with an operator")
    operator, operands = expression[0], expression[1:]
    build = _OPERATORS.get(operator)
    if build is None:
        raise InvalidInput(place.where, f"the operator {operator}", "one of " + ", ".join(_OPERATORS))
    least, most, make = build
    if not least <= len(operands) <= most:
        raise InvalidInput(place.where, f"{len(operands)} operands of {operator}", f"{least} to {most}")
    if operator in ("==", "in"):
        _check_words(operands, place)
    return make(operands, place)


def _parse_all(operands: list[object], place: _Place) -> list[Expression]:
    return [_parse(operand, place) for operand in operands]


def _check_words(operands: list[Any], place: _Place) -> None:
    """A word compared with what is one of a list must be in that list: else the condition could never be met."""
    parts = {part[0]: part[1:] for part in operands if isinstance(part, list) and part and isinstance(part[0], str)}
    literal, reference = parts.get("lit"), parts.get("ref")
    if not literal or not isinstance(literal[0], str) or not reference:
        return
    fact, *below = (str(name) for name in reference)
    path = {"last": below, "it": [place.of or "", *below]}.get(fact, [fact, *below])
    words = place.names.words.get(".".join(path))
    if words is not None and literal[0] not in words:
        raise InvalidInput(place.where, literal[0], "one of " + ", ".join(words))


def _literal(operands: list[object], place: _Place) -> Expression:
    value = operands[0]
    if not isinstance(value, bool | int | str):
        raise InvalidInput(place.where, "another literal", "true, false, a whole number or text")
    return lambda _facts: value


def _reference(operands: list[object], place: _Place) -> Expression:
    path = [str(name) for name in operands]
    _check_reference(path[0], path[1:], place)

    def look_up(facts: Facts) -> object:
        value: object = facts
        for name in path:
            value = value.get(name) if isinstance(value, Mapping) else None
        return value

    return look_up


def _check_reference(fact: str, below: list[str], place: _Place) -> None:
    names = place.names
    fields = names.fields_of.get((place.of or "") if fact == "it" else below[0] if below else "")
    is_known: dict[str, bool] = {
        "plan": ".".join(below) in names.plan,
        "torn": not below,
        "every_drug_barred": not below,
        "dye_barred_by_planned_lens": not below,
        "fixed": len(below) == 1 and below[0] in names.fixed,
        "records": len(below) == 1 and fields is not None,
        "not_done": len(below) == 1 and fields is not None,
        "last": len(below) == 2 and fields is not None and below[1] in fields,
        "it": len(below) == 1 and fields is not None and below[0] in fields,
    }
    if fact not in is_known:
        raise InvalidInput(place.where, f"the fact {fact}", "one of " + ", ".join(is_known))
    if not is_known[fact]:
        raise InvalidInput(place.where, f"the reference {'.'.join([fact, *below])}", "a name that the file holds")


def _equal(operands: list[object], place: _Place) -> Expression:
    left, right = _parse_all(operands, place)

    def equal(facts: Facts) -> bool:
        a, b = left(facts), right(facts)
        return a is not None and type(a) is type(b) and a == b

    return equal


def _compare(test: Callable[[int, int], bool]) -> Callable[[list[object], _Place], Expression]:
    def make(operands: list[object], place: _Place) -> Expression:
        left, right = _parse_all(operands, place)

        def compare(facts: Facts) -> bool:
            a, b = left(facts), right(facts)
            return type(a) is int and type(b) is int and test(a, b)

        return compare

    return make


def _and(operands: list[object], place: _Place) -> Expression:
    parts = _parse_all(operands, place)
    return lambda facts: all(part(facts) is True for part in parts)


def _or(operands: list[object], place: _Place) -> Expression:
    parts = _parse_all(operands, place)
    return lambda facts: any(part(facts) is True for part in parts)


def _not(operands: list[object], place: _Place) -> Expression:
    (part,) = _parse_all(operands, place)
    return lambda facts: part(facts) is not True


def _in(operands: list[object], place: _Place) -> Expression:
    wanted, items = _parse_all(operands, place)

    def contains(facts: Facts) -> bool:
        value, found = wanted(facts), items(facts)
        return isinstance(found, list) and any(type(item) is type(value) and item == value for item in found)

    return contains


def _matches(operands: list[object], place: _Place) -> Callable[[Facts], int]:
    items = _parse(operands[0], place)
    test = _parse(operands[1], _Place(place.where, place.names, _step_of(operands[0], place.where)))

    def matches(facts: Facts) -> int:
        found = items(facts)
        if not isinstance(found, list):
            return 0
        return sum(test({**facts, "it": item}) is True for item in found)

    return matches


def _step_of(members: Any, where: str) -> str:
    """The step whose values a list holds: only the records of a step have members of their own."""
    if members[:2] != ["ref", "records"]:
        raise InvalidInput(where, "another list", "the records of a step")
    return str(members[2])


def _any(operands: list[object], place: _Place) -> Expression:
    matches = _matches(operands, place)
    return lambda facts: matches(facts) > 0


def _count(operands: list[object], place: _Place) -> Expression:
    return _matches(operands, place)


_MANY = 99
_OPERATORS: dict[str, tuple[int, int, Callable[[list[object], _Place], Expression]]] = {
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
