"""Shapes: small checks that a JSON value holds exactly what is expected, and nothing that is not understood."""

from collections.abc import Callable
from typing import Any

from server.core.errors import InvalidInput

Json = dict[str, Any]
Shape = Callable[[Any, str], None]
GRADES = ("G1", "G2", "G3", "G4")
_OPTIONAL: set[Shape] = set()


def check(shape: Shape, value: Any, where: str) -> Json:
    """Returns `value`, an object of `shape`. Raises InvalidInput at the first place where it is not."""
    shape(value, where)
    checked: Json = value
    return checked


def _kind(kind: type, expected: str) -> Shape:
    def shape(value: Any, where: str) -> None:
        if type(value) is not kind:
            raise InvalidInput(where, "another kind of value", expected)

    return shape


boolean = _kind(bool, "true or false")
whole = _kind(int, "a whole number")
text = _kind(str, "text")


def one_of(*words: str) -> Shape:
    def shape(value: Any, where: str) -> None:
        if value not in words:
            raise InvalidInput(where, str(value), "one of " + ", ".join(words))

    return shape


grade = one_of(*GRADES)


def a_list(item: Shape, length: int | None = None) -> Shape:
    def shape(value: Any, where: str) -> None:
        if type(value) is not list or (length is not None and len(value) != length):
            raise InvalidInput(where, "no such list", "a list" if length is None else f"a list of {length}")
        for at, child in enumerate(value):
            item(child, f"{where}[{at}]")

    return shape


texts = a_list(text)


def a_map(item: Shape) -> Shape:
    def shape(value: Any, where: str) -> None:
        if type(value) is not dict:
            raise InvalidInput(where, "no object", "an object")
        for name, child in value.items():
            item(child, f"{where}.{name}")

    return shape


def either(*shapes: Shape) -> Shape:
    def shape(value: Any, where: str) -> None:
        for one in shapes[:-1]:
            try:
                one(value, where)
            except InvalidInput:
                continue
            return
        shapes[-1](value, where)

    return shape


def optional(shape: Shape) -> Shape:
    """Marks a member of `exact` that may be absent."""

    def maybe(value: Any, where: str) -> None:
        shape(value, where)

    _OPTIONAL.add(maybe)
    return maybe


def exact(members: dict[str, Shape], others: Shape | None = None) -> Shape:
    """An object with these members and no other, but for those of the shape `others` where that is given."""

    def shape(value: Any, where: str) -> None:
        if type(value) is not dict:
            raise InvalidInput(where, "no object", "an object")
        for name in value:
            if name not in members and others is None:
                raise InvalidInput(f"{where}.{name}", "a member that this version does not know", "only known members")
            if name not in members and others is not None:
                others(value[name], f"{where}.{name}")
        for name, member in members.items():
            if name in value:
                member(value[name], f"{where}.{name}")
            elif member not in _OPTIONAL:
                raise InvalidInput(f"{where}.{name}", "nothing", "a value")

    return shape
