"""The one exception a keeper can meet, and what stands in the place of any other."""

import errno
import os
import re
import traceback
from collections.abc import Iterator
from pathlib import Path

from analysis.say import say

FULL = frozenset({errno.ENOSPC, errno.EDQUOT})  # how a disk says that it has no room left
# how loaders of libraries, and threads that cannot start, say that there is no memory left
_NO_MEMORY = re.compile(
    r"cannot allocate|failed to map|cannot map|can't start new thread|out of memory|unable to allocate|\bMemoryError\b",
    re.IGNORECASE,
)


class SeasonError(Exception):
    """Something a keeper can put right: one plain sentence that says what was found, and what to do.

    Examples
    --------
    >>> raise SeasonError("There is no folder season_2031. Check the spelling.")
    Traceback (most recent call last):
    ...
    analysis.errors.SeasonError: There is no folder season_2031. Check the spelling.
    """

    def _render_traceback_(self) -> list[str]:
        """Show the sentence alone in a notebook; where in the program it was raised helps no keeper."""
        return [str(self)]


def is_no_memory(kind: str, said: str) -> bool:
    """Tell whether an error means that memory ran out, whatever it calls itself.

    Parameters
    ----------
    kind
        Its class.
    said
        Its text.

    Examples
    --------
    >>> is_no_memory("ImportError", "libscipy.so: failed to map segment from shared object")
    True
    >>> is_no_memory("ImportError", "No module named scipy")
    False
    """
    return kind in {"MemoryError", "_ArrayMemoryError"} or bool(_NO_MEMORY.search(said))


def unforeseen(trouble: BaseException) -> str:
    """What a keeper reads where the program itself is wrong; where it went wrong is kept in a file.

    Memory that ran out, and a disk that is full, are told by name: they are no fault of the program.

    Examples
    --------
    >>> unforeseen(KeyError("mass_g")).split(". ")[0]
    "Something went wrong in the program (KeyError: 'mass_g')"
    >>> unforeseen(MemoryError()).split(". ")[0]
    'The memory of this machine ran out'
    """
    if any(is_no_memory(type(one).__name__, str(one)) for one in _behind(trouble)):
        return say("command.no-memory")
    if isinstance(trouble, OSError) and trouble.errno in FULL:
        return say("command.no-room")
    if isinstance(trouble, OSError) and not _is_somewhere():
        return say("command.started-nowhere")
    said = f"{type(trouble).__name__}: {trouble}".split("\n")[0]
    try:
        return say("command.trouble", said=said, kept=_keep(trouble))
    except OSError:
        return say("command.trouble-not-kept", said=said)


def _is_somewhere() -> bool:
    try:
        return bool(os.getcwd())
    except OSError:
        return False


def _behind(trouble: BaseException) -> Iterator[BaseException]:
    """An error, and those that it came from."""
    one: BaseException | None = trouble
    for _ in range(20):
        if one is None:
            return
        yield one
        one = one.__cause__ or one.__context__


def _keep(trouble: BaseException) -> Path:
    """Write it down where this account keeps such notes, in the place of the last one."""
    from platformdirs import user_state_path

    from analysis.disk import write_whole

    said = "".join(traceback.format_exception(trouble))
    kept = user_state_path("season", appauthor=False) / "season_trouble.txt"
    write_whole(kept, said.encode(errors="backslashreplace"), mode=0o600)
    return kept
