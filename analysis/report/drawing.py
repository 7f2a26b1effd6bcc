"""Stills of charts, drawn by a second process while this one goes on with the pages or waits for its kernel.

The engine that draws holds its process up, and a hundred sheets hold as many charts: with a process of its own it
works on the second core. Few charts are drawn here, where no process need be started.
"""

import json
import signal
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager, suppress
from typing import Any

from analysis.ending import undone
from analysis.report.kernel import this_python
from analysis.show.still import still, warm_charts

MANY = 24  # pages from which on starting a process pays
Still = Callable[[], str]  # the picture, waited for
Draw = Callable[[dict[str, Any]], Still]
PROGRAM = "from analysis.report.drawing import answer; answer()"


@contextmanager
def drawing(pages: int) -> Iterator[Draw]:
    """Draw charts: takes a specification, and returns what gives its picture, for when that is needed.

    Parameters
    ----------
    pages
        How many pages with a chart are to come.

    Examples
    --------
    >>> with drawing(1) as draw:
    ...     picture = draw({"mark": "point", "data": {"values": []}, "description": "Nothing."})
    >>> picture()[:38]
    '<svg role="img" aria-label="Nothing." '
    """
    if pages < MANY:
        yield _here
        return
    second = _Second()
    with undone(second.kill):
        try:
            yield second.draw
        finally:
            second.end()


def _here(spec: dict[str, Any]) -> Still:
    picture = still(spec)
    return lambda: picture


class _Second:
    """The second process: it is started with the first chart, takes one line a chart and gives one line a picture."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._waiting: deque[Future[str]] = deque()

    def draw(self, spec: dict[str, Any]) -> Still:
        """Hand a chart on; where the second process is no more, or cannot draw it, it is drawn here."""
        drawn: Future[str] = Future()
        try:
            self._take(json.dumps(spec).encode() + b"\n", drawn)
        except (OSError, ValueError):  # it may be forbidden here, or ended from outside
            return lambda: still(spec)
        return lambda: drawn.result() or still(spec)

    def _take(self, line: bytes, drawn: Future[str]) -> None:
        if self._process is None:
            pipe = subprocess.PIPE
            self._process = subprocess.Popen(this_python(PROGRAM), stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)
            self._listener = threading.Thread(target=self._listen, args=(self._process.stdout,), daemon=True)
            self._listener.start()
        assert self._process.stdin is not None
        self._waiting.append(drawn)  # only now: what was never sent would be given the next one's picture
        self._process.stdin.write(line)
        self._process.stdin.flush()

    def _listen(self, said: Any) -> None:
        with said:
            for line in said:
                self._waiting.popleft().set_result(_picture(line))
        while self._waiting:
            self._waiting.popleft().set_result("")

    def kill(self) -> None:
        """End the process there and then; one that is only just being started ends by itself with its input."""
        if self._process is not None:
            self._process.kill()

    def end(self) -> None:
        """End the process, whatever it has not drawn yet."""
        self.kill()
        if self._process is not None:
            with suppress(OSError):
                self._process.stdin.close()  # type: ignore[union-attr]
            self._process.wait()
            self._listener.join()


def _picture(line: bytes) -> str:
    """The picture in a line; blank where the process ended in the middle of one."""
    try:
        return str(json.loads(line))
    except ValueError:
        return ""


def answer() -> None:
    """The second process: a picture for each line, blank where the chart cannot be drawn."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is answered by the process that waits for the pictures
    warm_charts()
    for line in sys.stdin.buffer:
        try:
            picture = still(json.loads(line))
        except Exception:
            picture = ""
        sys.stdout.buffer.write(json.dumps(picture).encode() + b"\n")
        sys.stdout.buffer.flush()
