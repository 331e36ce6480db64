"""Strict JSON: bytes in, plain values out, or an InvalidInput that names line and column.

Refused: a byte order mark, bytes that are not UTF-8, duplicate keys, NaN and Infinity, fractions and
exponents, whole numbers beyond plus or minus (2^53 - 1), lone surrogates, depth over 12.
The quick path uses the standard library; only a refused text is read again by `_Scanner` for its place.
"""

import json
import re
from collections.abc import Callable

from server.core.errors import InvalidInput

DEPTH_MAX = 12
WHOLE_MAX = 2**53 - 1

_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")
_WHOLE = re.compile(r"-?(?:0|[1-9][0-9]*)")
_PLAIN = re.compile(r'[^"\\\x00-\x1f]*')
_HEX4 = re.compile(r"[0-9a-fA-F]{4}")
_BLANK = re.compile(r"[ \t\n\r]*")
_ESCAPES = {'"': '"', "\\": "\\", "/": "/", "b": "\b", "f": "\f", "n": "\n", "r": "\r", "t": "\t"}


class _NotStrict(ValueError):
    """Raised inside the quick path; the scanner then finds the place."""


def _unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _NotStrict
    return found


def _refuse(_text: str) -> object:
    raise _NotStrict


_QUICK = json.JSONDecoder(object_pairs_hook=_unique, parse_float=_refuse, parse_constant=_refuse)


def parse(data: bytes, depth_max: int = DEPTH_MAX) -> object:
    """Returns the value that `data` holds. Raises InvalidInput with the first place that is not strict."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as problem:
        raise InvalidInput(f"byte {problem.start}", "bytes that are not UTF-8", "UTF-8") from None
    try:
        value: object = _QUICK.decode(text)
        if _is_strict(value, depth_max, "\\u" in text):
            return value
    except (ValueError, RecursionError):
        pass
    return _Scanner(text, depth_max).document()


def _is_strict(value: object, depth_left: int, escapes: bool) -> bool:
    """Checks what the library lets through: depth, large whole numbers and lone surrogates."""
    if type(value) is int:
        return -WHOLE_MAX <= value <= WHOLE_MAX
    if type(value) is str:
        return not (escapes and _has_lone_surrogate(value))
    if type(value) is not dict and type(value) is not list:
        return True
    if depth_left == 0:
        return False
    if type(value) is dict and escapes and any(map(_has_lone_surrogate, value)):
        return False
    for child in value.values() if type(value) is dict else value:
        kind = type(child)
        if kind is bool or child is None or (kind is str and not escapes):
            continue
        if not _is_strict(child, depth_left - 1, escapes):
            return False
    return True


def _has_lone_surrogate(text: str) -> bool:
    return any("\ud800" <= character <= "\udfff" for character in text)


class _Scanner:
    """Reads a text from left to right and raises at the first thing that strict JSON does not allow."""

    def __init__(self, text: str, depth_max: int) -> None:
        self.text = text
        self.at = 0
        self.depth_max = depth_max

    def document(self) -> object:
        if self.text.startswith("\ufeff"):
            raise self._problem("a byte order mark", "no byte order mark")
        value = self._value(0)
        self._skip_blank()
        if self.at < len(self.text):
            raise self._problem(self._next(), "end of file")
        return value

    def _problem(self, found: str, expected: str, at: int | None = None) -> InvalidInput:
        place = self.at if at is None else at
        line = self.text.count("\n", 0, place) + 1
        column = place - (self.text.rfind("\n", 0, place) + 1) + 1
        return InvalidInput(f"line {line} column {column}", found, expected)

    def _next(self) -> str:
        if self.at >= len(self.text):
            return "end of file"
        return json.dumps(self.text[self.at])

    def _skip_blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _value(self, depth: int) -> object:
        self._skip_blank()
        character = self.text[self.at : self.at + 1]
        if character == "{":
            return self._container(depth, "}", self._members)
        if character == "[":
            return self._container(depth, "]", self._items)
        if character == '"':
            return self._string()
        for word, value in (("true", True), ("false", False), ("null", None)):
            if self.text.startswith(word, self.at):
                self.at += len(word)
                return value
        return self._number()

    def _container(self, depth: int, end: str, read: Callable[[int, str], object]) -> object:
        if depth == self.depth_max:
            raise self._problem(f"depth {depth + 1}", f"depth at most {self.depth_max}")
        self.at += 1
        return read(depth + 1, end)

    def _ends(self, end: str, first: bool) -> bool:
        """True at the closing mark; else steps over the comma that must part two members."""
        self._skip_blank()
        character = self.text[self.at : self.at + 1]
        if character == end:
            self.at += 1
            return True
        if first:
            return False
        if character != ",":
            raise self._problem(self._next(), f'"," or "{end}"')
        self.at += 1
        return False

    def _members(self, depth: int, end: str) -> dict[str, object]:
        members: dict[str, object] = {}
        while not self._ends(end, first=not members):
            self._skip_blank()
            start = self.at
            if self.text[start : start + 1] != '"':
                raise self._problem(self._next(), "a name in double quotes")
            name = self._string()
            if name in members:
                raise self._problem(f"the name {json.dumps(name, ensure_ascii=False)} twice", "each name once", start)
            self._skip_blank()
            if self.text[self.at : self.at + 1] != ":":
                raise self._problem(self._next(), '":"')
            self.at += 1
            members[name] = self._value(depth)
        return members

    def _items(self, depth: int, end: str) -> list[object]:
        items: list[object] = []
        while not self._ends(end, first=not items):
            items.append(self._value(depth))
        return items

    def _number(self) -> int:
        match = _NUMBER.match(self.text, self.at)
        if match is None:
            raise self._problem(self._next(), "a value")
        digits = match.group()
        whole = _WHOLE.fullmatch(digits) is not None
        if not whole or len(digits) > 17 or not -WHOLE_MAX <= int(digits) <= WHOLE_MAX:
            shown = digits if len(digits) <= 40 else digits[:40] + "…"
            raise self._problem(shown, "a whole number within plus or minus 9007199254740991")
        self.at = match.end()
        return int(digits)

    def _string(self) -> str:
        start = self.at
        self.at += 1
        parts: list[str] = []
        while True:
            match = _PLAIN.match(self.text, self.at)
            if match:
                parts.append(match.group())
                self.at = match.end()
            character = self.text[self.at : self.at + 1]
            if character == '"':
                self.at += 1
                break
            if character != "\\":
                raise self._problem(self._next(), "the end of the text")
            parts.append(self._escape())
        text = "".join(parts).encode("utf-16", "surrogatepass").decode("utf-16", "replace")
        if "".join(parts).encode("utf-16", "surrogatepass") != text.encode("utf-16"):
            raise self._problem("a lone surrogate", "whole characters", start)
        return text

    def _escape(self) -> str:
        letter = self.text[self.at + 1 : self.at + 2]
        if letter in _ESCAPES and letter:
            self.at += 2
            return _ESCAPES[letter]
        match = _HEX4.match(self.text, self.at + 2)
        if letter != "u" or match is None:
            raise self._problem("an unknown escape", "an escape that JSON knows")
        self.at += 6
        return chr(int(match.group(), 16))
