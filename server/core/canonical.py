"""Canonical JSON (RFC 8785): the one sequence of bytes for a value, so that both sides hash and sign the same.

Numbers are whole and within plus or minus (2^53 - 1) here, so that the RFC's number formatting is plain decimal.
"""

import json

from server.core.errors import InvalidInput
from server.core.strict_json import WHOLE_MAX


def canonical(value: object) -> bytes:
    """The RFC 8785 bytes of a JSON value. Raises InvalidInput for what has no such form here."""
    try:
        return _text(value).encode("utf-8")
    except UnicodeEncodeError:
        raise InvalidInput("value", "a lone surrogate", "whole characters") from None


def _text(value: object) -> str:
    if value is None or isinstance(value, bool | str):
        return _scalar(value)
    if isinstance(value, int):
        if not -WHOLE_MAX <= value <= WHOLE_MAX:
            raise InvalidInput("value", str(value), "a whole number within plus or minus 9007199254740991")
        return str(value)
    if isinstance(value, dict):
        # RFC 8785 section 3.2.3: names are ordered by their UTF-16 code units.
        names = sorted(value, key=lambda name: name.encode("utf-16-be", "surrogatepass"))
        return "{" + ",".join(f"{_scalar(name)}:{_text(value[name])}" for name in names) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join(map(_text, value)) + "]"
    raise InvalidInput("value", type(value).__name__, "a JSON value without fractions")


def _scalar(value: bool | str | None) -> str:
    return json.dumps(value, ensure_ascii=False)
