"""How every chapter begins: charts and tables made ready, and the season opened."""

import os
from collections.abc import Sequence
from pathlib import Path

from analysis.season import Season, open_season

FOLDER_VARIABLE = "SEASON_FOLDER"  # set by `season lab FOLDER`
_DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"


def begin(folder: str = "", earlier: Sequence[str] = (), up_to: str = "") -> Season:
    """Make charts and tables travel, and open the season.

    Parameters
    ----------
    folder
        The season folder; blank: the one that `season lab` was given, else the demo of a checkout.
    earlier
        Folders of earlier seasons to join.
    up_to
        A day, as 2026-05-20: the season as it stood then; blank: on its last day.

    Returns
    -------
    Season
        As `open_season` gives it.

    Raises
    ------
    SeasonError
        The folder cannot be used; the sentence says why.
    """
    from analysis import show

    show.ready()
    chosen = folder or os.environ.get(FOLDER_VARIABLE) or _DEMO
    return open_season(Path(chosen), earlier, up_to or None)
