"""Reads the shared vectors of one core module, and refuses a file that does not say what it is for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "shared" / "vectors"


def vectors(module: str) -> list[dict[str, Any]]:
    """Every vector of shared/vectors/<module>; ids are unique, and each says its reason and its source."""
    found: list[dict[str, Any]] = []
    for path in sorted((FOLDER / module).glob("*.json")):
        document = json.loads(path.read_text())
        if document.keys() != {"module", "about", "vectors"} or document["module"] != module:
            raise ValueError(f"{path}: not a vector file of {module}")
        found += document["vectors"]
    ids = [vector["id"] for vector in found]
    if not found or len(set(ids)) < len(ids) or any(not vector["reason"] or not vector["source"] for vector in found):
        raise ValueError(f"{module}: vectors without an own id, a reason or a source")
    return found
