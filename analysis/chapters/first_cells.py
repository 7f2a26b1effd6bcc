"""How every chapter begins: charts and tables made ready, and the season opened."""

import os
from collections.abc import Callable, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from analysis.errors import SeasonError
from analysis.names import FOLDER_VARIABLE
from analysis.say import say
from analysis.season import Season, open_season
from analysis.season.dates import today

_HOUSE = Path(__file__).parents[1]
_DEMOS = [folder / "data_demo" / "season_2026" for folder in (_HOUSE, _HOUSE.parent)]  # installed; in a checkout
_DEMO = next(filter(Path.is_dir, _DEMOS), _DEMOS[0])


def days(season: Season) -> tuple[date, date]:
    """The first day that a season's logs know of, and the last or, where that is later, today.

    Examples
    --------
    >>> str(days(open_season("data_demo/season_2026"))[0])
    '2026-01-24'
    """
    last = max(today(), season.as_of.date() if season.as_of is not None else date.min)
    written = [season.eggs["laid_on"], season.chicks["hatched_at"], season.weights["weighed_at"]]
    known = [days.min() for days in written if days.notna().any()]
    return min([*(day.date() for day in known), last]), last


def begin(folder: str = "", earlier: Sequence[str] = (), up_to: str | date = "") -> Season:
    """Make charts and tables travel, and open the season.

    Parameters
    ----------
    folder
        The season folder; blank: the one that `season lab` was given, else the demo.
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
    if not folder and chosen != _DEMO and not Path(chosen).is_dir():
        raise SeasonError(say("lab.folder-moved", folder=chosen))
    return open_season(Path(chosen), earlier, up_to or None)


def each_day(work: Callable[[Season], Any], folder: str = "", earlier: Sequence[str] = ()) -> Callable[[date], Any]:
    """Do a piece of work on the season as it stood on a day, once for each day that is asked for.

    Parameters
    ----------
    work
        Takes the season as it stood on the day, which is its `as_of`.
    folder, earlier
        As in `begin`.

    Returns
    -------
    Callable
        Takes a day.
    """
    return cache(lambda day: work(begin(folder, earlier, f"{day:%Y-%m-%d}")))
