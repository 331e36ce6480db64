"""Finds the Chromium that the browser tests drive, or installs it where that is allowed."""

from __future__ import annotations

import os
import shutil

from seed_demo.environment import ROOT
from seed_demo.progress import SetupProblem, run

VARIABLE = "HUBHELD_CHROMIUM"
"""Names the browser to use, for machines where it is in an unusual place."""
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
PACKAGES = ("chromium", "fonts-dejavu-core")


def find_chromium() -> str | None:
    """Return the path of a Chromium on this machine, or None."""
    named = os.environ.get(VARIABLE)
    return named or next(filter(None, map(shutil.which, NAMES)), None)


def ensure_chromium() -> str:
    """Return the path of a Chromium, installed by apt-get first if need be.

    Raises SetupProblem, which says what to install, where that cannot be done from here.
    """
    found = find_chromium()
    if found:
        return found
    install = f"apt-get install -y --no-install-recommends {' '.join(PACKAGES)}"
    if os.geteuid() == 0 and shutil.which("apt-get"):
        environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for title, command in (
            ("Fetching the list of Debian packages", "apt-get update"),
            ("Installing Chromium for the browser tests", install),
        ):
            run(title, command.split(), folder=ROOT, environment=environment)
        found = find_chromium()
    if not found:
        raise SetupProblem(
            "Found no Chromium, which the browser tests drive. Install it and start again, on "
            f"Debian and Ubuntu as root: {install}\n"
            f"  A browser in an unusual place can be named with {VARIABLE}=/path/to/chromium."
        )
    return found
