"""Breaks case files on purpose: one value of the wrong kind, or one slip in the text or its bytes."""

from __future__ import annotations

import copy
from random import Random
from typing import Any

WRONG_VALUES = (None, True, False, 0, 1, "", "x", "right", [], {}, [1], {"a": 1}, ["none"], "G5", 2**53 - 1)
INSERTED = (
    '"',
    "{",
    "}",
    "[",
    "]",
    ",",
    ":",
    "\\",
    "1",
    "-",
    "0",
    "e",
    ".",
    " ",
    "\n",
    "\t",
    "é",
    "😀",
    "\x00",
    "\xa0",
)
NUMBERS = ("1.0", "1e3", "-0", "-0.0", "01", "+1", "NaN", "Infinity", "9007199254740991", "9007199254740992", "-")
STRINGS = ('"\\ud83d"', '"\\ude00\\ud83d"', '"\\ud83d\\ude00"', '"\\x41"', '"\\u00e9"', '"\\u12"', '"a\nb"', "'a'")


def broken_structure(case: dict[str, Any], chance: Random) -> dict[str, Any]:
    """The case with one member replaced, left out or added somewhere."""
    case = copy.deepcopy(case)
    places = [(parent, key) for parent, key in _places(case) if isinstance(parent, dict) or chance.random() < 0.3]
    parent, key = chance.choice(places)
    action = chance.random()
    if action < 0.25 and isinstance(parent, dict):
        del parent[key]
    elif action < 0.35:
        deep: Any = {}
        for _ in range(chance.choice([3, 7, 8, 9, 10, 11, 12])):
            deep = [deep] if chance.random() < 0.5 else {"a": deep}
        parent[key] = deep
    else:
        parent[key] = copy.deepcopy(chance.choice(WRONG_VALUES))
    return case


def _places(value: Any) -> list[tuple[Any, Any]]:
    found: list[tuple[Any, Any]] = []
    for key in value if isinstance(value, dict) else range(len(value)):
        found.append((value, key))
        if isinstance(value[key], dict | list):
            found += _places(value[key])
    return found


def broken_bytes(text: str, chance: Random) -> bytes:
    """The text with one slip, as bytes."""
    at = chance.randrange(len(text))
    kind = chance.choice(["cut", "insert", "drop", "number", "string", "twice", "byte", "mark", "after"])
    if kind == "cut":
        return text[:at].encode()
    if kind == "insert":
        return (text[:at] + chance.choice(INSERTED) + text[at:]).encode()
    if kind == "drop":
        return (text[:at] + text[at + 1 :]).encode()
    if kind == "number":
        return _replaced(text, '"at_ms": 0', f'"at_ms": {chance.choice(NUMBERS)}').encode()
    if kind == "string":
        return _replaced(text, '"type": "step"', f'"type": {chance.choice(STRINGS)}').encode()
    if kind == "twice":
        return _replaced(text, '"type": "step"', '"type": "step", "type": "step"').encode()
    if kind == "byte":
        wrong = chance.choice([b"\xff", b"\xc3", b"\xc0\xaf", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\xe2\x82"])
        encoded = text.encode()
        return encoded[:at] + wrong + encoded[at:]
    if kind == "mark":
        return ("\ufeff" + text).encode()
    return (text + chance.choice(["x", " {}", "\x00", "\n\n"])).encode()


def _replaced(text: str, old: str, new: str) -> str:
    """`new` in place of the first `old`, or before everything where there is none."""
    return text.replace(old, new, 1) if old in text else new + text
