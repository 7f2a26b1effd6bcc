"""The one exception a keeper can meet, and what stands in the place of any other."""

import tempfile
import traceback
from pathlib import Path


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


def unforeseen(trouble: BaseException) -> str:
    """What a keeper reads where the program itself is wrong; where it went wrong is kept in a file.

    Examples
    --------
    >>> unforeseen(KeyError("mass_g")).split(". ")[0]
    "Something went wrong in the program (KeyError: 'mass_g')"
    """
    said = f"{type(trouble).__name__}: {trouble}".split("\n")[0]
    place = Path(tempfile.gettempdir()) / "season_trouble.txt"
    try:
        place.write_text("".join(traceback.format_exception(trouble)), encoding="utf-8")
        kept = f"{place} has what whoever mends it needs to know."
    except OSError:
        kept = "Where it went wrong could not be kept."
    return f"Something went wrong in the program ({said}). Your logs were not touched. {kept}"
