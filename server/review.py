"""The command `hubheld review`: case files in, one JSON line for each, in name order.

Imports only the core, so that it starts fast and needs no database.
"""

import json
import os
import sys
from pathlib import Path

from server.core import strict_json
from server.core.case_file import read
from server.core.errors import InvalidInput
from server.core.judge.deviation import Judgement
from server.core.judge.judge import judge
from server.core.protocol import Protocol, load

PROTOCOL_FILE = Path(__file__).parent.parent / "shared" / "protocol" / "phaco-cataract.json"


def main(arguments: list[str]) -> int:
    """`[--open] FILE_OR_FOLDER…`; returns the exit status: 1 where a file could not be judged."""
    is_open = "--open" in arguments
    paths = [argument for argument in arguments if argument != "--open"]
    if not paths:
        sys.stderr.write("hubheld review: name at least one case file or folder\n")
        return 2
    protocol = load(strict_json.parse(PROTOCOL_FILE.read_bytes(), depth_max=64))
    status = 0
    for path in _files(paths):
        try:
            line = _judged(path, protocol, is_open)
        except InvalidInput as problem:
            line = {"file": os.fsencode(path).decode("utf-8", "replace"), "problem": str(problem)}
            status = 1
        sys.stdout.buffer.write(json.dumps(line, ensure_ascii=False, separators=(",", ":")).encode() + b"\n")
    sys.stdout.buffer.flush()
    return status


def review_line(case: str | None, judgement: Judgement) -> dict[str, object]:
    """What `review` says of one case."""
    return {
        "case": case,
        "deviations": [
            {
                "step": found.step,
                "kind": found.kind,
                "grade": found.grade,
                "key": found.key,
                "caught": found.caught,
                "detail": found.detail,
            }
            for found in judgement.deviations
        ],
        "flags": list(judgement.flags),
        "unread": judgement.unread,
        "hub_not_asked": judgement.hub_not_asked,
    }


def _files(paths: list[str]) -> list[str]:
    """Every path once, folders opened one level deep, in the order of the bytes of their names."""
    return sorted({file for path in paths for file in _expand(path)}, key=os.fsencode)


def _expand(path: str) -> list[str]:
    """A folder's case files; one that cannot be opened stands for itself, and is told as a problem when it is read."""
    if not Path(path).is_dir():
        return [path]
    try:
        files = [file for file in Path(path).iterdir() if file.is_file()]
    except OSError:
        return [path]
    names = [file.name for file in files if file.name.endswith(".json") and not file.name.startswith(".")]
    return [f"{path.rstrip('/')}/{name}" for name in names]


def _judged(path: str, protocol: Protocol, is_open: bool) -> dict[str, object]:
    try:
        content = Path(path).read_bytes()
    except OSError as problem:
        found = "no such file" if isinstance(problem, FileNotFoundError) else "a file that cannot be read"
        raise InvalidInput("file", found, "a case file") from None
    case_file = read(strict_json.parse(content), protocol)
    return review_line(case_file.case, judge(case_file, protocol, is_open=is_open))
