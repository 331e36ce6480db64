"""The set-up command: makes the environment, fills a new data folder with the demo, serves it.

Runs on a bare Python; everything that needs a package runs in .venv.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import sys
from pathlib import Path

from seed_demo.environment import PYTHON, ROOT, VENV_BIN, digest, ensure_node, ensure_python, ensure_web
from seed_demo.progress import SetupProblem, run, say
from seed_demo.serving import Server, check_port, free_port, serving

PORT = 8000
DATABASE = "hubheld.sqlite"
SEEN = "migrations_seen"


def main() -> int:
    """Set up, and serve unless told not to; return the exit status."""
    options = _read_options()
    for ending in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(ending, lambda *_: sys.exit(0))
    try:
        _set_up(options)
    except SetupProblem as problem:
        say(f"Set-up stopped. {problem}")
        return 1
    except KeyboardInterrupt:
        say("\nStopped.")
    return 0


def _read_options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python3 -m seed_demo",
        description="Set hubheld up in this folder, fill it with an invented unit, and serve it.",
    )
    parser.add_argument("--no-serve", action="store_true", help="set up and stop")
    parser.add_argument("--port", type=int, default=PORT, help=f"port to serve on (default: {PORT})")
    parser.add_argument(
        "--data",
        type=Path,
        default=Path(os.environ.get("HUBHELD_DATA") or ROOT / ".hubheld"),
        help="folder of the data (default: HUBHELD_DATA, or .hubheld in this folder)",
    )
    return parser.parse_args()


def _set_up(options: argparse.Namespace) -> None:
    if not options.no_serve:
        check_port(options.port)
    say(f"Setting hubheld up in {ROOT}")
    ensure_python()
    ensure_web(ensure_node())
    data = options.data.resolve()
    if not (data / DATABASE).exists():
        _fill(data)
    _migrate(data)
    if options.no_serve:
        say(f"Ready. The data is in {data}. To serve it: python3 -m seed_demo")
        return
    with serving(options.port, _environment(data)) as server:
        _today(server, data)
        say(f"\nhubheld is served on http://localhost:{options.port} (Ctrl-C stops it; the data stays in {data}).")
        status = server.wait()
    raise SetupProblem(f"The server ended by itself with status {status}.")


def _fill(data: Path) -> None:
    """Load the demo through a server of its own beside `data`, and put it in place once it is whole."""
    if data.exists() and any(data.iterdir()):
        raise SetupProblem(f"{data} holds files but no {DATABASE}. Choose an empty or new folder with --data.")
    making = data.with_name(f"{data.name}.making")
    if making.exists():
        shutil.rmtree(making)
    _migrate(making)
    with serving(free_port(), _environment(making)) as server:
        command = [str(PYTHON), "-m", "seed_demo.load", "--address", server.address]
        title = "Loading the invented unit and its weeks through the upload"
        run(title, command, folder=ROOT, environment=_environment(making))
    making.replace(data)


def _migrate(data: Path) -> None:
    """Run the migrations, unless the data folder says that it has seen these very files."""
    seen, now = data / SEEN, digest((ROOT / "server" / "store" / "migrations" / "versions").glob("*.py"))
    if seen.exists() and seen.read_text() == now:
        return
    run(
        "Bringing the database to this version",
        [VENV_BIN / "hubheld", "migrate"],
        folder=ROOT,
        environment=_environment(data),
    )
    seen.write_text(now)


def _today(server: Server, data: Path) -> None:
    """Put today's list in if it is not there, and show what is needed to sign in."""
    command = [str(PYTHON), "-m", "seed_demo.today", "--address", server.address]
    say(run("Laying out today's list", command, folder=ROOT, environment=_environment(data)).rstrip())


def _environment(data: Path) -> dict[str, str]:
    """Return this process's environment for one data folder with its embedded database."""
    others = {name: value for name, value in os.environ.items() if name != "HUBHELD_DATABASE"}
    return {**others, "HUBHELD_DATA": str(data)}


if __name__ == "__main__":
    sys.exit(main())
