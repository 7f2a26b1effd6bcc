"""How a command ends when it is told to: Ctrl-C, a closed terminal, an ended session.

An exception would come up in the middle of whatever library runs just then, and some of them swallow it or print it.
So what must not stay behind is told here first; a signal undoes it and ends the process there and then.
"""

import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import count
from typing import Any

from analysis.say import say

_NAMES = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
_BASE = 128  # what a shell adds to the number of the signal
_undo: dict[int, Callable[[], object]] = {}
_number = count()
_put_off: list[int] = []  # signals that came in a block of `not_now`
_depth = 0


def catch_signals() -> None:
    """From here on Ctrl-C, SIGTERM and SIGHUP undo what `undone` was told of and end this process: 130, 143, 129."""
    for one in signals():
        if signal.getsignal(one) is not signal.SIG_IGN:  # nohup means it
            signal.signal(one, _told)


def leave_signals() -> None:
    """Give the signals back to whoever has an answer of their own."""
    for one in signals():
        if signal.getsignal(one) is _told:
            signal.signal(one, signal.default_int_handler if one is signal.SIGINT else signal.SIG_DFL)


@contextmanager
def undone(undo: Callable[[], object]) -> Iterator[None]:
    """Have something undone where a signal ends the block; otherwise the block sees to it itself.

    `undo` may find it not yet done, or undone already.
    """
    key = next(_number)
    _undo[key] = undo
    try:
        yield
    finally:
        _undo.pop(key, None)


@contextmanager
def not_now() -> Iterator[None]:
    """Put a signal off to the end of the block: for the moment in which files change places."""
    global _depth
    _depth += 1
    try:
        yield
    finally:
        _depth -= 1
        if _put_off and not _depth:
            _end(_put_off[0])


def signals() -> list[Any]:
    """The signals that tell a command to end; none but the main thread may answer them."""
    here = threading.current_thread() is threading.main_thread()
    return [one for name in _NAMES if here and (one := getattr(signal, name, None))]


def _told(number: int, _: Any) -> None:
    if _depth:
        _put_off.append(number)
    else:
        _end(number)


def _end(number: int) -> None:
    for one in signals():
        signal.signal(one, signal.SIG_IGN)
    for undo in reversed(list(_undo.values())):
        with suppress(Exception):
            undo()
    with suppress(Exception):
        os.write(2, f"\nseason: {say('command.stopped')}\n".encode())
    os._exit(_BASE + number)
