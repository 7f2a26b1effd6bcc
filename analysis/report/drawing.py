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
    """What draws the charts of so many pages: it takes a specification, and returns what gives its picture."""
    if pages < MANY:
        yield _drawn_here
        return
    second = _SecondProcess()
    with undone(second.kill):
        try:
            yield second.draw
        finally:
            second.end()


def _drawn_here(spec: dict[str, Any]) -> Still:
    picture = still(spec)
    return lambda: picture


class _SecondProcess:
    """It is started with the first chart, takes one line a chart and gives one line a picture."""

    def __init__(self) -> None:
        self._process: Any = None
        self._waiting: deque[Future[str]] = deque()

    def draw(self, spec: dict[str, Any]) -> Still:
        """Hand a chart on; where the second process is no more, or cannot draw it, it is drawn here."""
        drawn: Future[str] = Future()
        try:
            self._send(json.dumps(spec).encode() + b"\n", drawn)
        except (OSError, ValueError):  # it may be forbidden here, or ended from outside
            return lambda: still(spec)
        return lambda: drawn.result() or still(spec)

    def _send(self, line: bytes, drawn: Future[str]) -> None:
        if self._process is None:
            pipe = subprocess.PIPE
            self._process = subprocess.Popen(this_python(PROGRAM), stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)
            self._listener = threading.Thread(target=self._listen, args=(self._process.stdout,), daemon=True)
            self._listener.start()
        self._waiting.append(drawn)  # only now: what was never sent would be given the next one's picture
        self._process.stdin.write(line)
        self._process.stdin.flush()

    def _listen(self, pictures: Any) -> None:
        with pictures:
            for line in pictures:
                picture = ""
                with suppress(ValueError):  # the process ended in the middle of one
                    picture = json.loads(line)
                self._waiting.popleft().set_result(picture)
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
                self._process.stdin.close()
            self._process.wait()
            self._listener.join()


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
