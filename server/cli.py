"""The command `hubheld`: hands `review` to the judge alone, so that it starts fast, and all else to the server."""

import sys
from importlib import import_module

from server import review


def main() -> int:
    """Runs one subcommand and returns the exit status: 0 done, 1 refused, 2 not understood."""
    if sys.argv[1:2] == ["review"]:
        return review.main(sys.argv[2:])
    status: int = import_module("server.commands").main(sys.argv[1:])
    return status
