"""Ctrl-C, a closed terminal and an ended session: noted, and acted upon where nothing is left half done."""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

Asked = Callable[[], bool]
_WAYS = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")  # not every machine has them all


@contextmanager
def noting_stops() -> Iterator[Asked]:
    """Nothing in the block is interrupted; it asks now and then whether it should end.

    Also where a shell started it deaf to Ctrl-C, as in the background. Deaf to a closed terminal it stays.

    Yields
    ------
    callable
        Tells whether it has been asked to end.

    Examples
    --------
    >>> with noting_stops() as asked:
    ...     signal.raise_signal(signal.SIGINT)
    ...     asked()
    True
    """
    noted: list[int] = []

    def note(number: int, _: Any) -> None:
        noted.append(number)

    ways = [one for name in _WAYS if (one := getattr(signal, name, None))]
    kept = [one for one in ways if one == signal.SIGINT or signal.getsignal(one) != signal.SIG_IGN]
    before = {one: signal.signal(one, note) for one in kept}
    try:
        yield lambda: bool(noted)
    finally:
        for one, handler in before.items():
            signal.signal(one, handler or signal.SIG_DFL)
