"""Runs the office's own command, `hubheld`, as the demo's administrator would."""

import subprocess
import sys
from pathlib import Path

from seed_demo.unit import UNIT

HUBHELD = Path(sys.executable).with_name("hubheld")


def hubheld(*words: str, typed: str = "") -> str:
    """Returns what the command said. A refusal ends the set-up with its reason."""
    done = subprocess.run([HUBHELD, *words], input=typed, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"hubheld {' '.join(words)}: {done.stderr.strip()}")
    return done.stdout


def enrolment_code() -> str:
    """A fresh one-time code for the demo's unit."""
    return hubheld("enrol-code", "--unit", UNIT).strip()
