"""JupyterLab as a process of its own: started, found again, ended."""

import secrets
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPException
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO, Any
from urllib.request import ProxyHandler, Request, build_opener

from analysis.errors import SeasonError
from analysis.lab.disk import read_json
from analysis.lab.settings import FIRST, environment, write_run

_START_S, _STOP_S, _ANSWER_S = 90, 8, 3


@dataclass(frozen=True)
class Lab:
    """A JupyterLab that listens on this machine."""

    url: str
    token: str

    @property
    def address(self) -> str:
        """What to open in a browser."""
        return f"{self.url}lab/tree/{FIRST}?token={self.token}"

    @property
    def port(self) -> int:
        """The port it listens on."""
        return int(self.url.strip("/").rpartition(":")[2])

    def answers(self) -> bool:
        """Tell whether it is there: nothing else on this machine knows its token."""
        return self._asked("GET", "api/status")

    def end(self) -> bool:
        """Ask it to end, its kernels first."""
        return self._asked("POST", "api/shutdown")

    def _asked(self, method: str, what: str) -> bool:
        header = {"Authorization": f"token {self.token}"}
        straight = build_opener(ProxyHandler({}))  # a proxy would send it off this machine
        try:
            with straight.open(Request(self.url + what, headers=header, method=method), timeout=_ANSWER_S) as answer:
                return bool(answer.status == 200)
        except (OSError, ValueError, HTTPException):
            return False


@contextmanager
def running_lab(folder: Path, workbook: Path, log: IO[bytes], *, port: int) -> Iterator[tuple[Lab, Any]]:
    """A JupyterLab that has started; it is ended with the block, with all its kernels.

    Parameters
    ----------
    folder, workbook
        The season, and her chapters.
    log
        An open file for what JupyterLab itself has to say.
    port
        The first to try; the next free one is taken.

    Yields
    ------
    Lab, subprocess.Popen

    Raises
    ------
    SeasonError
        It did not start; the sentence says where the log is.
    """
    token = secrets.token_hex(24)
    with TemporaryDirectory(prefix="season_lab_", ignore_cleanup_errors=True) as scratch:
        run = Path(scratch)
        write_run(run, workbook, port=port, token=token)
        process = subprocess.Popen(
            [sys.executable, "-P", "-m", "jupyterlab", "--ServerApp.ip=127.0.0.1"],  # above this machine's own settings
            cwd=run,
            env=environment(run, folder),
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            **_deaf_to_ctrl_c(),
        )
        lab = None
        try:
            lab = _started(process, run / "runtime", log.name)
            yield lab, process
        finally:
            _end(process, lab)


def _started(process: Any, runtime: Path, log: str) -> Lab:
    """Wait until it listens: then it writes down where."""
    latest = time.monotonic() + _START_S
    while time.monotonic() < latest and process.poll() is None:
        for path in runtime.glob("jpserver-*.json"):
            found = read_json(path)
            if found:
                return Lab(found["url"], found["token"])
        time.sleep(0.05)
    raise SeasonError(f"JupyterLab did not start. What it said last is in {log}; try again, or start the machine anew.")


def _end(process: Any, lab: Lab | None) -> None:
    try:
        if process.poll() is None and not (lab and lab.end()):
            process.terminate()
        process.wait(_STOP_S)
    except (subprocess.TimeoutExpired, KeyboardInterrupt):
        process.kill()
        process.wait()


def _deaf_to_ctrl_c() -> dict[str, Any]:
    """Ctrl-C reaches the command alone, which then ends JupyterLab without a question."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True}
