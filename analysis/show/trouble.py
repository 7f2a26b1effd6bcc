"""What a cell shows where something goes wrong: a sentence with the next step, and no traceback of ours."""

import traceback
from pathlib import Path
from typing import Any

from analysis.errors import SeasonError, unforeseen
from analysis.say import say

# What the first cells of a chapter make.
_NAMES = {"chapters", "controls", "show", "begin", "days", "each_day", "round_of", "Chicks", "Pairs"}
_NAMES |= {"season", "judged", "growth", "nursed", "pages", "found", "chosen", "day", "opened"}
_OURS = str(Path(__file__).parents[1])


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
