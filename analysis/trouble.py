"""Where the program itself is wrong: a sentence with the next step, and no traceback of ours."""

import os
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from analysis.disk import write_whole
from analysis.errors import FULL, SeasonError, is_no_memory
from analysis.say import say

# What the first cells of a chapter make.
_NAMES = {"chapters", "controls", "show", "begin", "days", "each_day", "round_of", "Chicks", "Pairs"}
_NAMES |= {"season", "judged", "growth", "nursed", "pages", "found", "chosen", "day", "opened"}
_OURS = str(Path(__file__).parent)


def plain_errors() -> None:
    """Show in a sentence what goes wrong in our own rooms, a chapter run from its middle, and a stop by hand."""
    from IPython.core.getipython import get_ipython

    if (shell := get_ipython()) is not None:
        shell.set_custom_exc((Exception, KeyboardInterrupt), _in_a_sentence)


def _in_a_sentence(shell: Any, kind: Any, value: Any, trace: Any, tb_offset: Any = None) -> Any:
    """Say in a sentence what went wrong in our own rooms; a keeper's own code shows its traceback as ever."""
    if isinstance(value, KeyboardInterrupt):
        said = say("lab.stopped")
    elif isinstance(value, NameError) and value.name in _NAMES:
        said = say("lab.part-missing")
    elif isinstance(value, SeasonError) or not any(_OURS in frame.filename for frame in traceback.extract_tb(trace)):
        return shell.showtraceback((kind, value, trace), tb_offset=tb_offset)
    else:
        said = say("lab.trouble", why=unforeseen(value))
    shell._showtraceback(kind, value, [said])
    return [said]


def unforeseen(trouble: BaseException) -> str:
    """What a keeper reads where the program itself is wrong; where it went wrong is kept in a file.

    Memory that ran out, and a disk that is full, are told by name: they are no fault of the program.

    Examples
    --------
    >>> unforeseen(KeyError("mass_g")).split(". ")[0]
    "Something went wrong in the program (KeyError: 'mass_g')"
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

    said = "".join(traceback.format_exception(trouble))
    kept = user_state_path("season", appauthor=False) / "season_trouble.txt"
    write_whole(kept, said.encode(errors="backslashreplace"), mode=0o600)
    return kept
