"""Lists the project's own files, without anything that was made or installed."""

from __future__ import annotations

import os
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MADE = {"node_modules", "dist", "dist-review", "__pycache__"}
"""Folders that the set-up makes; hidden folders are left out too, except .ci."""


def files_under(*folders: str, ending: str | tuple[str, ...] = "") -> list[Path]:
    """Return the project's files under these folders of the top whose names end so, sorted."""
    found: list[Path] = []
    for folder in folders:
        for parent, inside, names in os.walk(ROOT / folder):
            inside[:] = [name for name in inside if name not in MADE and not name.startswith(".")]
            found += [Path(parent, name) for name in names if name.endswith(ending)]
    return sorted(found)


def folders_under(*folders: str) -> list[Path]:
    """Return every folder below these that holds a file of the project, sorted."""
    tops = {ROOT / folder for folder in folders}
    parents = {parent for path in files_under(*folders) for parent in path.parents}
    return sorted(parent for parent in parents if any(top in parent.parents for top in tops))


def shown(path: Path) -> str:
    """Return the path as it is written in the documents: from the top, with forward slashes."""
    return path.relative_to(ROOT).as_posix()
