"""Runs the benchmarks: `python3 -m tests.bench [judges] [intake] [tap]`; all of them without a name."""

import sys

from tests.bench import intake, judges, tap

BENCHMARKS = {"judges": judges.run, "intake": intake.run, "tap": tap.run}


def main() -> int:
    """Returns 1 where a figure misses what was promised for it."""
    names = sys.argv[1:] or list(BENCHMARKS)
    unknown = [name for name in names if name not in BENCHMARKS]
    if unknown:
        print(f"No such benchmark: {', '.join(unknown)}. There are {', '.join(BENCHMARKS)}.")
        return 2
    kept = [BENCHMARKS[name]() for name in names]
    return 0 if all(kept) else 1


if __name__ == "__main__":
    sys.exit(main())
