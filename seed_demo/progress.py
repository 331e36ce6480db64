"""Says what is being done, and goes on saying it while it lasts. Standard library only."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

QUIET_S = 2.0
"""A step that takes longer than this shows that it is still going."""
LINE_EVERY_S = 5.0
"""How often a plain line says so where the output is no terminal."""
TICK_S = 0.2
OUTPUT_LINES_MAX = 40
COLOUR_CODES = re.compile(r"\x1b\[[0-9;]*m")


class SetupProblem(Exception):
    """Something that the person at the keyboard has to put right; the message says how."""


def say(text: str) -> None:
    """Write one line, at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


@contextmanager
def step(title: str) -> Iterator[None]:
    """Show `title` while the block runs: a moving line with seconds on a terminal, else lines."""
    started_s = time.monotonic()
    ended = threading.Event()
    moving = sys.stdout.isatty()
    if not moving:
        say(f"  {title}")
    show = threading.Thread(target=_show, args=(title, started_s, ended, moving), daemon=True)
    show.start()
    try:
        yield
    finally:
        ended.set()
        show.join()
        taken_s = time.monotonic() - started_s
        if moving:
            say(f"\r\x1b[K  {title} ({taken_s:.1f} s)")
        elif taken_s > QUIET_S:
            say(f"    took {taken_s:.1f} s")


def _show(title: str, started_s: float, ended: threading.Event, moving: bool) -> None:
    next_line_s = QUIET_S
    while not ended.wait(TICK_S):
        elapsed_s = time.monotonic() - started_s
        if moving:
            sys.stdout.write(f"\r\x1b[K  {title} … {elapsed_s:.0f} s")
            sys.stdout.flush()
        elif elapsed_s >= next_line_s:
            say(f"    still going, {elapsed_s:.0f} s")
            next_line_s += LINE_EVERY_S


def run(
    title: str,
    command: Sequence[str | Path],
    *,
    folder: Path,
    environment: Mapping[str, str] | None = None,
) -> str:
    """Run `command` under `title` and return what it printed.

    Raises SetupProblem with the end of its output if it fails.
    """
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as output:
        with step(title):
            status = subprocess.run(
                [str(part) for part in command],
                cwd=folder,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
                check=False,
            ).returncode
        output.seek(0)
        printed = COLOUR_CODES.sub("", output.read())
    if status == 0:
        return printed
    shown = "\n".join(f"    | {line}" for line in printed.splitlines()[-OUTPUT_LINES_MAX:])
    raise SetupProblem(
        f"'{title}' failed with status {status}.\n{shown}\n"
        f"  The command was, in {folder}:\n    {' '.join(str(part) for part in command)}"
    )
