"""How every chapter begins: charts and tables made ready, and the season opened."""

import os
from collections.abc import Callable, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from analysis.season import Season, open_season

FOLDER_VARIABLE = "SEASON_FOLDER"  # set by `season lab FOLDER`
_DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"


def days(season: Season) -> tuple[date, date]:
    """The first and the last day that a season's logs know of; today where they know none.

    Examples
    --------
    >>> [str(day) for day in days(open_season("data_demo/season_2026"))]
    ['2026-01-24', '2026-08-09']
    """
    last = season.last_day.date() if season.last_day is not None else date.today()
    written = [season.eggs["laid_on"], season.eggs["hatched_at"], season.weights["weighed_at"]]
    known = [days.min() for days in written if days.notna().any()]
    return min([*(day.date() for day in known), last]), last


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


def each_day(
    work: Callable[[Season, str], Any], folder: str = "", earlier: Sequence[str] = ()
) -> Callable[[date], Any]:
    """Do a piece of work on the season as it stood on a day, once for each day that is asked for.

    Parameters
    ----------
    work
        Takes the season and the day as 2026-05-20.
    folder, earlier
        As in `begin`.

    Returns
    -------
    Callable
        Takes a day.
    """
    return cache(lambda day: work(begin(folder, earlier, f"{day:%Y-%m-%d}"), f"{day:%Y-%m-%d}"))
