"""What each chapter shows: season in, displays out. A notebook's cell calls one of these and shows it.

Each function returns a list of displays (charts, tables, sentences) and, where the logs hold nothing for it, one
sentence that says so. Nothing is computed here that the rooms of the subjects could compute. What chapters begin with
stands here: the season opened, the days of it, and one box to look up a chick or a pair.
"""

import os
from collections.abc import Callable, Sequence
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from analysis import show
from analysis.chapters import (
    advice,
    eggs,
    equipment,
    first_page,
    growth,
    in_short,
    logs,
    losses,
    nursery,
    one_chick,
    pair_sheet,
    pairs,
    register,
)
from analysis.chapters.pair_page import PairPages
from analysis.chicks.fed import chick_named
from analysis.day.round import Round, round_of
from analysis.errors import SeasonError
from analysis.finding import found
from analysis.logs.headings import NameBook, same
from analysis.names import FOLDER_VARIABLE, by_name
from analysis.say import in_words, say
from analysis.season import Season, open_season
from analysis.season.days import today

__all__ = [
    "LookUp",
    "PairPages",
    "advice",
    "begin",
    "days",
    "each_day",
    "eggs",
    "equipment",
    "first_page",
    "growth",
    "in_short",
    "logs",
    "losses",
    "nursery",
    "one_chick",
    "pair_sheet",
    "pairs",
    "register",
    "today",
]

_DEMOS = [house / "data_demo" / "season_2026" for house in Path(__file__).parents[1:3]]  # installed; in a checkout
_DEMO = next(filter(Path.is_dir, _DEMOS), _DEMOS[0])


def days(season: Season) -> tuple[date, date]:
    """The first day that a season's logs know of, and the last or, where that is later, today."""
    last = max(today(), season.as_of.date() if season.as_of is not None else date.min)
    written = [season.eggs["laid_on"], season.chicks["hatched_at"], season.weights["weighed_at"]]
    known = [days.min() for days in written if days.notna().any()]
    return min([*(day.date() for day in known), last]), last


def begin(folder: str = "", earlier: Sequence[str] = (), up_to: str | date = "") -> Season:
    """Make charts and tables travel, and open the season, joined to earlier ones, as `open_season` gives it.

    Without a folder it is the one that `season lab` was given, else the demo; without a day it stands
    as on its last. Raises SeasonError where the folder cannot be used; the sentence says why.
    """
    show.ready()
    chosen = folder or os.environ.get(FOLDER_VARIABLE) or _DEMO
    if not folder and chosen != _DEMO and not Path(chosen).is_dir():
        raise SeasonError(say("lab.folder-moved", folder=chosen))
    return open_season(Path(chosen), earlier, up_to or None)


def each_day(work: Callable[[Season], Any], folder: str = "", earlier: Sequence[str] = ()) -> Callable[[date], Any]:
    """A function of a day: a piece of work on the season as it stood then, done once for each day asked for."""
    return cache(lambda day: work(begin(folder, earlier, f"{day:%Y-%m-%d}")))


class LookUp:
    """Finds a chick or a pair of a season, or the pair of a bird; `names` are those that can be found.

    What its weights and its record say is worked out at the first search.
    """

    def __init__(self, season: Season) -> None:
        self.season = season
        self._of_bird: dict[str, list[str]] = {}
        birds = []
        for role in ("cock", "hen"):
            for bird, pair in zip(season.pairs[role].fillna("").astype(str), season.pairs["pair"], strict=True):
                if bird:
                    self._of_bird.setdefault(same(bird), []).append(pair)
                    birds.append(bird)
        names = [name for some in (season.pairs["pair"], season.chicks["chick"], birds) for name in by_name(some)]
        self.names = list(dict.fromkeys(names))

    @cached_property
    def today(self) -> Round:
        """The round of the day: what is read first of whom."""
        return round_of(self.season)

    def page(self, typed: str) -> list[Any]:
        """Show what is known of whoever is meant; blank: how to ask."""
        if not typed.strip():
            return [show.prose(found("chapters.ask"))]
        if (pair := NameBook(self.season.pairs["pair"]).find(typed)) is not None:
            return self._of_pair(pair, typed)
        if pairs := self._of_bird.get(same(typed)):
            return self._of_pair(pairs[-1], typed)
        try:
            chick = chick_named(self.season, typed, of=say("chapters.anybody-here"))
        except SeasonError as nobody:
            return [show.prose(str(nobody))]
        head = show.prose(found("chapters.more-of-chick"))
        return [head, *one_chick.about(self.season, chick), *one_chick.stands(self.today, chick)]

    def _of_pair(self, pair: str, typed: str) -> list[Any]:
        pairs = [other for other in self._of_bird.get(same(typed), ()) if other != pair]
        chicks = [chick for chick in self.season.chicks["chick"] if same(chick) == same(typed)]
        others = [found("chapters.pair-named", pair=other) for other in pairs]
        others += [found("chapters.chick-named", chick=chick) for chick in chicks]
        also = [found("chapters.so-called-also", others=others)] if others else []
        head = show.prose(in_words([found("chapters.more-of-pair", pair=pair), *also]))
        pages = PairPages.of(self.season)
        asks = pair_sheet.asks(pages, pair, self.today)
        return [head, *pair_sheet.about(pages, pair), *asks, *pair_sheet.advice(pages, pair)]
