"""Runs the benchmarks: `python3 -m tests.bench [judges] [intake] [tap]`; all of them without a name."""

import os
import subprocess
import sys
from importlib import import_module

from seed_demo.environment import PYTHON, VENV, ensure_node, ensure_python, ensure_web
from seed_demo.progress import SetupProblem, say
from tests.chromium import VARIABLE, ensure_chromium

NAMES = ("judges", "intake", "tap")


def main() -> int:
    """Returns 1 where a figure misses what was promised for it."""
    names = sys.argv[1:] or list(NAMES)
    unknown = [name for name in names if name not in NAMES]
    if unknown:
        say(f"No such benchmark: {', '.join(unknown)}. There are {', '.join(NAMES)}.")
        return 2
    if sys.prefix != str(VENV):
        return _again_in_environment()
    kept = [import_module(f"tests.bench.{name}").run() for name in names]
    return 0 if all(kept) else 1


def _again_in_environment() -> int:
    """Makes the environment where it is missing, and starts this command again in it."""
    try:
        ensure_python(with_tests=True)
        ensure_web(ensure_node())
        os.environ[VARIABLE] = ensure_chromium()
    except SetupProblem as problem:
        say(f"Set-up stopped. {problem}")
        return 1
    return subprocess.run([PYTHON, "-m", "tests.bench", *sys.argv[1:]], check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
