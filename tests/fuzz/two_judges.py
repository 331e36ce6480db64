"""Runs both command lines over a folder of case files and finds where they differ; shrinks what differs."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PYTHON_JUDGE = [str(Path(sys.executable).parent / "hubheld"), "review"]
WEB_JUDGE = ["npm", "--prefix", "web", "run", "--silent", "review", "--"]
EXIT_STATUSES = (0, 1)


def review(command: list[str], folder: Path, *, is_open: bool = False) -> tuple[int, bytes]:
    """Exit status and output of one judge over a folder, started at the top of the project."""
    options = ["--open"] if is_open else []
    done = subprocess.run([*command, *options, str(folder)], cwd=ROOT, capture_output=True, check=False)
    if done.returncode not in EXIT_STATUSES or done.stderr:
        raise AssertionError(f"{command[0]} ended with {done.returncode}: {done.stderr.decode()[-2000:]}")
    return done.returncode, done.stdout


def write_all(folder: Path, contents: Sequence[bytes]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for number, content in enumerate(contents):
        (folder / f"case-{number:05d}.json").write_bytes(content)


def differing(contents: Sequence[bytes], *, is_open: bool = False) -> list[int]:
    """The places of the contents on which the two judges differ."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_all(folder, contents)
        answers = [review(command, folder, is_open=is_open)[1].splitlines() for command in (PYTHON_JUDGE, WEB_JUDGE)]
    pairs = list(zip(*answers, strict=True))
    assert len(pairs) == len(contents), "one line for each file"
    return [number for number, (one, other) in enumerate(pairs) if one != other]


def shrunk(content: bytes, *, is_open: bool = False) -> bytes:
    """The smallest case that still differs and is reached by taking away one member at a time."""
    try:
        case = json.loads(content)
    except ValueError:
        return content
    if not differing([_encoded(case)], is_open=is_open):
        return content
    while candidates := list(_smaller(case)):
        found = differing([_encoded(candidate) for candidate in candidates], is_open=is_open)
        if not found:
            break
        case = candidates[found[0]]
    return _encoded(case)


def _encoded(case: Any) -> bytes:
    return json.dumps(case, ensure_ascii=False).encode()


def _smaller(case: Any) -> Iterator[Any]:
    """The case with half of a long list, or one member anywhere, taken away; large pieces first."""
    for path in sorted(_paths(case), key=len):
        parent = case
        for key in path[:-1]:
            parent = parent[key]
        child = parent[path[-1]]
        if isinstance(child, list) and len(child) > 3:
            yield _with(case, path, child[: len(child) // 2])
            yield _with(case, path, child[len(child) // 2 :])
        yield _without(case, path)


def _paths(value: Any, before: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else []
    for key in keys:
        yield (*before, key)
        yield from _paths(value[key], (*before, key))


def _parent(case: Any, path: tuple[Any, ...]) -> tuple[Any, Any]:
    copied = copy.deepcopy(case)
    parent = copied
    for key in path[:-1]:
        parent = parent[key]
    return copied, parent


def _with(case: Any, path: tuple[Any, ...], value: Any) -> Any:
    copied, parent = _parent(case, path)
    parent[path[-1]] = value
    return copied


def _without(case: Any, path: tuple[Any, ...]) -> Any:
    copied, parent = _parent(case, path)
    del parent[path[-1]]
    return copied
