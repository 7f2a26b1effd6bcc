"""JupyterLab as a process of its own: started, found again, ended."""

import os
import secrets
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import IO, Any

from analysis.disk import is_ours, read_json
from analysis.ending import signals
from analysis.errors import SeasonError
from analysis.lab.jupyter_settings import environment, write_run
from analysis.lab.serving import ORDERLY_S, PROGRAM, UNLOCKED
from analysis.report.kernel import this_python
from analysis.say import say

Asked = Callable[[], bool]
_START_S, _STOP_S, _ANSWER_S, _PAUSE_S = 90, ORDERLY_S + 4, 10, 0.05
_NO_DOUBT_S = 86_400  # no lab is open for a day and longer where nobody can be asked
_REFUSED = (401, 403)
# Ctrl-C reaches the command alone, which then ends JupyterLab without a question.
_DEAF_TO_CTRL_C: dict[str, Any] = {"start_new_session": True}
if sys.platform == "win32":
    _DEAF_TO_CTRL_C = {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}


@contextmanager
def noting_stops() -> Iterator[Asked]:
    """Nothing in the block is interrupted; it asks now and then, by what it is given, whether it should end.

    Also where a shell started it deaf to Ctrl-C, as in the background. Deaf to a closed terminal it stays.
    """
    noted: list[int] = []
    heard = [one for one in signals() if one == signal.SIGINT or signal.getsignal(one) != signal.SIG_IGN]
    before = {one: signal.signal(one, lambda number, _: noted.append(number)) for one in heard}
    try:
        yield lambda: bool(noted)
    finally:
        for one, handler in before.items():
            signal.signal(one, handler or signal.SIG_DFL)


@dataclass(frozen=True)
class Lab:
    """A JupyterLab that listens on this machine."""

    url: str
    token: str

    def address(self, notebook: str) -> str:
        """What to open in a browser."""
        return f"{self.url}lab/tree/{notebook}?token={self.token}"

    @property
    def port(self) -> int:
        """The port it listens on."""
        return int(self.url.strip("/").rpartition(":")[2])

    def answers(self) -> bool:
        """Tell whether it is there: nothing else on this machine knows its token."""
        return self._asked("api/status", {"Authorization": f"token {self.token}"}) == 200

    def answer_to_a_stranger(self) -> int:
        """The number of its answer to one who asks for her files without the token; 0 where there is none yet."""
        return self._asked("api/contents", {})

    def _asked(self, what: str, headers: dict[str, str]) -> int:
        """The number of the answer; 0 where there is none. No proxy and no other machine is asked."""
        there = HTTPConnection("127.0.0.1", self.port, timeout=_ANSWER_S)
        try:
            there.request("GET", f"/{what}", headers=headers)
            return there.getresponse().status
        except (OSError, HTTPException):
            return 0
        finally:
            there.close()


@contextmanager
def running_lab(
    folder: Path, workbook: Path, log: IO[bytes], *, port: int, asked: Asked = bool
) -> Iterator[tuple[Lab, Any]]:
    """A JupyterLab that has started, and its process; it is ended with the block, with all its kernels.

    `folder` is the season, `workbook` her chapters, `log` an open file for what JupyterLab itself has to say, `port`
    the first to try. SeasonError: it did not start, and the sentence says where the log is; or it would let anyone in.
    KeyboardInterrupt: it was `asked` to end while it started.
    """
    scratch = Path(tempfile.gettempdir())
    clear_left(scratch)
    run = scratch / f"season_lab_{secrets.token_hex(8)}"
    process: Any = subprocess.Popen(
        [*this_python(PROGRAM), str(run)],
        cwd=scratch,
        env=environment(run, folder),
        bufsize=0,
        stdin=subprocess.PIPE,  # closed however this process ends; then JupyterLab removes the run and ends too
        stdout=log,
        stderr=log,
        **_DEAF_TO_CTRL_C,
    )
    try:
        run.mkdir(mode=0o700)
        write_run(run, workbook, port=port, token=secrets.token_hex(24))
        with suppress(OSError):  # where it has ended already, the log says why
            process.stdin.write(b"1")
        yield _started(process, run / "runtime", log.name, asked), process
    finally:
        _end(process)
        shutil.rmtree(run, ignore_errors=True)


def clear_left(scratch: Path) -> None:
    """Remove the folders of runs that were killed together with their server: ours, old, and of no living process."""
    for left in scratch.glob("season_lab_*"):
        with suppress(OSError, ValueError, KeyError, TypeError):
            found = left.lstat()
            if is_ours(found) and time.time() - found.st_mtime > _START_S and not _lives(left):
                shutil.rmtree(left, ignore_errors=True)


def _lives(run: Path) -> bool:
    """Whether the server of a run may still be there; where that cannot be asked, for a day it may."""
    if os.name != "posix":
        return time.time() - run.lstat().st_mtime < _NO_DOUBT_S
    for note in (run / "runtime").glob("jpserver-*.json"):
        try:
            os.kill(int(read_json(note)["pid"]), 0)
            return True
        except ProcessLookupError:
            continue
    return False


def _started(process: Any, runtime: Path, log: str, asked: Asked) -> Lab:
    """Wait until it listens: then it writes down where."""
    latest = time.monotonic() + _START_S
    while time.monotonic() < latest and process.poll() is None:
        if asked():
            raise KeyboardInterrupt
        found = next((read_json(path) for path in runtime.glob("jpserver-*.json")), None)
        if found and (answer := (lab := Lab(found["url"], found["token"])).answer_to_a_stranger()):
            if answer in _REFUSED:
                return lab
            raise SeasonError(say("lab.let-in-anyone"))
        time.sleep(_PAUSE_S)
    if process.returncode == UNLOCKED:
        raise SeasonError(say("lab.let-in-anyone"))
    raise SeasonError(say("lab.not-started", log=log))


def _end(process: Any) -> None:
    process.stdin.close()
    try:
        process.wait(_STOP_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
