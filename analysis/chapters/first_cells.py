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

_DEMO = Path(__file__).parents[2] / "data_demo" / "season_2026"


def days(season: Season) -> tuple[date, date]:
    """The first day that a season's logs know of, and the last or, where that is later, today."""
    last = max(today(), season.as_of.date() if season.as_of is not None else date.min)
    written = [season.eggs["laid_on"], season.chicks["hatched_at"], season.weights["weighed_at"]]
    known = [days.min() for days in written if days.notna().any()]
    return min([*(day.date() for day in known), last]), last


def begin(folder: str = "", earlier: Sequence[str] = (), up_to: str | date = "") -> Season:
    """Make charts and tables travel, and open the season, joined to earlier ones, as `open_season` gives it.

    Without a folder it is the one that `season lab` was given, else the demo of a checkout; without a day it stands
    as on its last. Raises SeasonError where the folder cannot be used; the sentence says why.
    """
    from analysis import show

    show.ready()
    chosen = folder or os.environ.get(FOLDER_VARIABLE) or _DEMO
    if not folder and chosen != _DEMO and not Path(chosen).is_dir():
        raise SeasonError(say("lab.folder-moved", folder=chosen))
    return open_season(Path(chosen), earlier, up_to or None)


def each_day(work: Callable[[Season], Any], folder: str = "", earlier: Sequence[str] = ()) -> Callable[[date], Any]:
    """A function of a day: a piece of work on the season as it stood then, done once for each day asked for."""
    return cache(lambda day: work(begin(folder, earlier, f"{day:%Y-%m-%d}")))
