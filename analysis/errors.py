"""The one exception a keeper can meet."""


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
