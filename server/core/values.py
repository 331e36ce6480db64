"""Plain checks on single JSON values, and the words for what was found instead."""

import json
from collections.abc import Collection, Mapping
from typing import Any

from server.core.errors import InvalidInput

_SHOWN_MAX = 40


def describe(value: object) -> str:
    """What stands there, in words that fit behind "found": nothing, null, true, 12, "text", a list, an object."""
    if value is None or isinstance(value, bool | int):
        return json.dumps(value)
    if isinstance(value, str):
        return json.dumps(value if len(value) <= _SHOWN_MAX else value[:_SHOWN_MAX] + "…", ensure_ascii=False)
    if isinstance(value, list):
        return "a list"
    return "an object" if isinstance(value, dict) else "nothing"


def need_object(value: object, where: str) -> Mapping[str, Any]:
    if type(value) is not dict:
        raise InvalidInput(where, describe(value), "an object")
    return value


def need_text(value: object, where: str) -> str:
    if type(value) is not str:
        raise InvalidInput(where, describe(value), "text")
    return value


def need_whole(value: object, where: str) -> int:
    if type(value) is not int:
        raise InvalidInput(where, describe(value), "a whole number")
    return value


def need_choice(value: object, where: str, choices: Collection[str]) -> str:
    if type(value) is not str or value not in choices:
        raise InvalidInput(where, describe(value), "one of " + ", ".join(choices))
    return value
