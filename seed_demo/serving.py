"""Runs the server as a child of this process until the caller is done with it. Standard library only."""

from __future__ import annotations

import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from seed_demo.environment import PYTHON, ROOT
from seed_demo.progress import SetupProblem, step

LOOPBACK = "127.0.0.1"
START_S_MAX = 30.0
STOP_S_MAX = 15.0
ASK_EVERY_S = 0.05
ASK_S_MAX = 5.0


@dataclass(frozen=True)
class Server:
    """A server that answers at `address`, for as long as `process` lives."""

    address: str
    process: subprocess.Popen[bytes]

    def wait(self) -> int:
        """Wait until the server ends by itself and return its exit status."""
        return self.process.wait()


def free_port() -> int:
    """Return a port of this machine that nothing listens on."""
    with socket.socket() as listener:
        listener.bind((LOOPBACK, 0))
        port: int = listener.getsockname()[1]
        return port


def check_port(port: int) -> None:
    """Raise SetupProblem if something listens on the port already."""
    with socket.socket() as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((LOOPBACK, port))
        except OSError as reason:
            raise SetupProblem(
                f"Port {port} cannot be used ({reason.strerror}), perhaps by an earlier start that still runs. "
                "End that one, or choose another port: python3 -m seed_demo --port 8001"
            ) from None


@contextmanager
def serving(port: int, environment: Mapping[str, str]) -> Iterator[Server]:
    """Start the server, hand it over once it answers, and stop it at the end of the block."""
    command = [str(PYTHON), "-m", "gunicorn", "--config", "server/gunicorn_settings.py", "--bind", f"{LOOPBACK}:{port}"]
    # In a session of its own: Ctrl-C reaches this process alone, which then asks the server once to stop.
    process = subprocess.Popen(command, cwd=ROOT, env=dict(environment), start_new_session=True)
    server = Server(f"http://{LOOPBACK}:{port}", process)
    try:
        with step("Starting the server"):
            _wait_until_it_answers(server)
        yield server
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(STOP_S_MAX)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_until_it_answers(server: Server) -> None:
    """Ask for the server's health: its port answers before it can."""
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    give_up_s = time.monotonic() + START_S_MAX
    while server.process.poll() is None:
        try:
            opener.open(f"{server.address}/api/v1/health", timeout=ASK_S_MAX).close()
        except (urllib.error.URLError, OSError):
            if time.monotonic() > give_up_s:
                raise SetupProblem(f"The server did not answer within {START_S_MAX:.0f} s.") from None
            time.sleep(ASK_EVERY_S)
        else:
            return
    raise SetupProblem(f"The server ended with status {server.process.returncode}; its reason stands above.")
