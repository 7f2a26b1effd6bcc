"""The one exception a keeper can meet, and how a machine says that it has no room or no memory left."""

import errno
import re

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
    """Tell by its class and its text whether an error means that memory ran out, whatever it calls itself."""
    return kind in {"MemoryError", "_ArrayMemoryError"} or bool(_NO_MEMORY.search(said))
