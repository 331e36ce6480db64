"""A real server for browser tests: gunicorn on loopback over a data folder of its own, stopped and started at will."""

import os
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BIN = ROOT / ".venv" / "bin"
START_S_MAX = 30.0
STOP_S_MAX = 15.0


class RealServer:
    """One unit's server. The address stays the same through stops and starts, as a tablet needs it to."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.port = _free_port()
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        """By name, since passkeys and service workers know localhost."""
        return f"http://localhost:{self.port}"

    def hubheld(self, *words: str, typed: str = "") -> str:
        """Runs the office's command on this server's data and returns what it said."""
        command = [str(BIN / "hubheld"), *words]
        done = subprocess.run(
            command, input=typed, capture_output=True, text=True, check=False, env=self._environment(), cwd=ROOT
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def start(self) -> None:
        """Starts gunicorn and waits until it answers a real request, since its port answers before."""
        log = (self.data / "gunicorn.log").open("ab")
        bind = f"127.0.0.1:{self.port}"
        command = [str(BIN / "python"), "-m", "gunicorn", "--config", "server/gunicorn_settings.py", "--bind", bind]
        # In a session of its own, so that `kill` reaches its workers and nothing else.
        self._process = subprocess.Popen(
            command, cwd=ROOT, env=self._environment(), stdout=log, stderr=log, start_new_session=True
        )
        log.close()
        give_up_s = time.monotonic() + START_S_MAX
        while not self._answers():
            assert self._process.poll() is None, (self.data / "gunicorn.log").read_text()[-2000:]
            assert time.monotonic() < give_up_s, "the server did not answer in time"
            time.sleep(0.05)

    def stop(self) -> None:
        """Ends gunicorn; calling it twice does nothing."""
        if self._process is not None:
            self._process.terminate()
            self._process.wait(STOP_S_MAX)
            self._process = None

    def kill(self) -> None:
        """Kills gunicorn and its workers at once (kill -9), in the middle of whatever they do."""
        if self._process is not None:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait(STOP_S_MAX)
            self._process = None

    def _answers(self) -> bool:
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        try:
            opener.open(f"http://127.0.0.1:{self.port}/api/v1/health", timeout=5).close()
        except (urllib.error.URLError, OSError):
            return False
        return True

    def _environment(self) -> dict[str, str]:
        return {**os.environ, "HUBHELD_DATA": str(self.data)}


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port
