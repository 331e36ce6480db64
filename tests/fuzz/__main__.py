"""A longer comparison of the two judges by hand: `python -m tests.fuzz --seed 1 --cases 50000`."""

from __future__ import annotations

import argparse

from tests.fuzz.case_generator import case_files
from tests.fuzz.two_judges import differing, shrunk

BATCH = 5_000


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", type=int, default=50_000)
    options = parser.parse_args()
    for number in range(-(-options.cases // BATCH)):
        seed = options.seed + number
        contents = case_files(seed, BATCH)
        found = differing(contents)
        print(f"seed {seed}: {len(found)} of {BATCH} case files differ", flush=True)
        if found:
            print("smallest case:", shrunk(contents[found[0]]).decode(errors="backslashreplace"))
            return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
