"""Where the shared files lie, and the validators of their schemas."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

SHARED = Path(__file__).resolve().parents[2] / "shared"
PROTOCOL_FILE = SHARED / "protocol/phaco-cataract.json"
SETTINGS_FILE = SHARED / "unit/settings.json"
JUDGE_VECTORS = SHARED / "vectors/judge"


def read(path: Path) -> Any:
    """Return the JSON value of a shared file."""
    return json.loads(path.read_text(encoding="utf-8"))


def validator(name: str) -> Draft202012Validator:
    """Return the validator of shared/schemas/<name>.schema.json; the schema itself is checked first."""
    schema = read(SHARED / f"schemas/{name}.schema.json")
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)
