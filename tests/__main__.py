"""The test command: sets everything up, runs every check in order, says what failed."""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from seed_demo.environment import (
    ROOT,
    VENV_BIN,
    WEB,
    Node,
    ensure_node,
    ensure_python,
    ensure_web,
)
from seed_demo.progress import SetupProblem, run, say
from tests.chromium import VARIABLE, ensure_chromium

GROUPS = ("lint", "web", "pytest")


@dataclass(frozen=True)
class Check:
    """One check: its group, the heading it runs under, its command, and if that talks."""

    group: str
    title: str
    command: list[str]
    talks: bool = False


@dataclass(frozen=True)
class Outcome:
    """How one check ended."""

    title: str
    passed: bool
    taken_s: float


def main() -> int:
    """Run the checks that were asked for; return 0 if all of them passed."""
    options, pytest_arguments = _read_arguments()
    try:
        say("Set-up")
        ensure_python(with_tests=True)
        node = ensure_node()
        ensure_web(node)
    except SetupProblem as problem:
        say(f"Set-up stopped. {problem}")
        return 1
    groups = [options.only] if options.only else list(GROUPS)
    environment = node.environment()
    outcomes = []
    if "pytest" in groups:
        outcomes.append(_timed("Chromium for the browser tests", partial(_browser, environment)))
    checks = [check for check in _checks(node, pytest_arguments) if check.group in groups]
    for number, check in enumerate(checks, start=1):
        say(f"\n{number}/{len(checks)} {check.title}")
        outcomes.append(_timed(check.title, partial(_passes, check, environment)))
    return summary(outcomes)


def _read_arguments() -> tuple[argparse.Namespace, list[str]]:
    parser = argparse.ArgumentParser(
        prog="python3 -m tests",
        description="Set everything up and run every check.",
        epilog="Any other argument is handed to pytest, for example: -k wilson tests/unit",
    )
    parser.add_argument("--only", choices=GROUPS, help="run one group of checks")
    return parser.parse_known_args()


def _checks(node: Node, pytest_arguments: list[str]) -> list[Check]:
    npm = [node.npm, "--prefix", str(WEB), "run", "--silent"]
    return [
        Check("lint", "Python rules (ruff check)", [f"{VENV_BIN}/ruff", "check", "."]),
        Check("lint", "Python format (ruff format)", [f"{VENV_BIN}/ruff", "format", "--check", "."]),
        Check("lint", "Python types (mypy)", [f"{VENV_BIN}/mypy"]),
        Check("lint", "Python layers (import-linter)", [f"{VENV_BIN}/lint-imports", "--no-logo"]),
        Check("lint", "Web types, rules and format (tsc, oxlint, oxfmt)", [*npm, "check"]),
        Check("web", "Web unit tests (vitest)", [*npm, "test"], talks=True),
        Check(
            "pytest",
            "Python, architecture and browser tests (pytest)",
            [f"{VENV_BIN}/python", "-m", "pytest", *pytest_arguments],
            talks=True,
        ),
    ]


def _browser(environment: dict[str, str]) -> bool:
    """Put the browser's path where the tests look for it; say what to install if there is none."""
    try:
        environment[VARIABLE] = ensure_chromium()
    except SetupProblem as problem:
        say(f"  {problem}")
        return False
    return True


def _passes(check: Check, environment: dict[str, str]) -> bool:
    if check.talks:
        status = subprocess.run(check.command, cwd=ROOT, env=environment, check=False).returncode
        return status == 0
    try:
        run("running", check.command, folder=ROOT, environment=environment)
    except SetupProblem as problem:
        say(f"  {problem}")
        return False
    return True


def _timed(title: str, passes: Callable[[], bool]) -> Outcome:
    started_s = time.monotonic()
    passed = passes()
    return Outcome(title, passed, time.monotonic() - started_s)


def summary(outcomes: list[Outcome]) -> int:
    """Say how each check ended; return the exit status, 0 if all passed."""
    say("\nSummary")
    for outcome in outcomes:
        word = "passed" if outcome.passed else "FAILED"
        say(f"  {word}  {outcome.taken_s:6.1f} s  {outcome.title}")
    failed = sum(not outcome.passed for outcome in outcomes)
    taken_s = sum(outcome.taken_s for outcome in outcomes)
    say(f"{len(outcomes) - failed} of {len(outcomes)} passed in {taken_s:.0f} s")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
