"""The morning's round of a day: whom to read of first, who is fed in which order, how much, and what is due."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property

import pandas as pd

from analysis.chicks.brooders import in_the_heat
from analysis.chicks.concerns import expected_today, with_concerns
from analysis.chicks.feeding import feeding_order, with_amounts
from analysis.chicks.in_the_nursery import in_the_nursery
from analysis.chicks.of_season import Chicks
from analysis.chicks.warnings import may_wean, near_fledging, warnings
from analysis.day.due import due_on
from analysis.day.elsewhere import burnt_chicks, elsewhere, incubators_read, last_read
from analysis.eggs.of_season import Eggs
from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import name_key
from analysis.season import SOON, Season, numbers_hold
from analysis.season.dates import now
from analysis.season.signs import LOOK_AGAIN, rank, read_first

_BURNING = found("day.burning-food")


@dataclass(frozen=True)
class Round:
    """The round of one day; each part is worked out when it is asked for.

    Attributes
    ----------
    season : opened up to the end of that day
    on : the day, at midnight
    worked_at : when it was worked out; on a screen alone, so that paper is the same at every time
    """

    season: Season
    on: pd.Timestamp
    worked_at: datetime = field(default_factory=now)

    @property
    def growth(self) -> Chicks:
        """The weighings of the season, watched."""
        return Chicks.of(self.season)

    @cached_property
    def eggs(self) -> Eggs:
        """The eggs of the season."""
        return Eggs.of(self.season, self.on)

    @cached_property
    def chicks(self) -> pd.DataFrame:
        """The chicks fed by hand, in the order in which they are fed.

        The columns of `in_the_nursery`, `expected_today` and `with_concerns`; fledging; place_in_order and own_tools;
        low_ml and high_ml: what may be given, missing where the page gives no amount; by_today: whether that rests on
        this morning's weight; why: why there is none; times: hours between feeds.
        """
        here = in_the_nursery(self.season, self.on)
        # Of a chick far from weaning a nibble says nothing: it is fed as before.
        eats = here["eats"] & may_wean(self.season, here, self.on)
        here = here.assign(fledging=near_fledging(self.season, here, self.on), eats=eats)
        here = here.assign(hot=here["chick"].isin(in_the_heat(here, last_read(self.season, self.on))))
        here = expected_today(here, self.growth, self.on)
        here = with_concerns(here, self.growth, self.on)
        burnt = here["chick"].isin(burnt_chicks(self.season, self.on))
        unwell = [seen or (_BURNING,) * hot for seen, hot in zip(here["unwell"], burnt, strict=True)]
        here = here.assign(unwell=pd.Series(unwell, index=here.index, dtype=object))
        here = here.assign(needs_vet=here["vet"].astype(bool) | burnt, ailing=here["food_left"])
        return with_amounts(feeding_order(here), self.on, damaged=not self._weights_hold)

    @cached_property
    def _weights_hold(self) -> bool:
        return numbers_hold(self.season, logs=("weights",))

    @cached_property
    def reads(self) -> list[Finding]:
        """What is read before anybody is fed, the most pressing first.

        About whom or what, with the facts soon (a word of `SOON`) and of (age and kind, or where).
        """
        rows = self.chicks.sort_values("chick", kind="stable", key=lambda names: names.map(name_key))
        reads = [*incubators_read(self.season, self.on)]  # opened before anything else is done
        for chick in rows[rows["vet"].astype(bool) | rows["look"].astype(bool)].itertuples():
            of = found("day.chick", of=[chick.age, chick.species])
            soon = SOON[int(chick.rank)] if chick.vet else LOOK_AGAIN
            said = found("day.all-of", about=str(chick.chick), parts=[*chick.vet, *chick.look])
            reads.append(read_first(soon, said, of=of))
        return sorted([*reads, *elsewhere(self.growth, self.chicks, self.on)], key=rank)

    def of(self, *names: str) -> list[Finding]:
        """What is read first of whoever goes by one of these names; of several, with who it is."""
        some, about = len({same(name) for name in names if name}) > 1, found("day.read-first")
        reads = [
            found("day.named", level=one.level, who=one.about, said=one) if some else one
            for one in self._reads_of(names)
        ]
        return [replace(one, about=about) for one in reads]

    def pressing(self, *names: str) -> list[Finding]:
        """Return what is read first of whoever goes by one of these names and is more pressing than a look."""
        return [one for one in self._reads_of(names) if rank(one) < SOON.index(LOOK_AGAIN)]

    def _reads_of(self, names: Iterable[str]) -> list[Finding]:
        keys = {same(name) for name in names if name}
        return [one for one in self.reads if isinstance(one.about, str) and same(one.about) in keys]

    @cached_property
    def due(self) -> pd.DataFrame:
        """What is due: see `due_on`; the second look after a flag is that of the chicks flagged on the days before."""
        flags = warnings(self.growth, self.on)
        flags = flags[~flags["chick"].isin({one.about for one in self.reads})]
        return due_on(self.season, self.on, flags=flags.assign(sentence=flags["said"]))


def round_of(season: Season, on: str | date | None = None) -> Round:
    """Gather the round of a day.

    Parameters
    ----------
    season : opened up to the end of that day
    on : the day, as 2026-05-20; left out, the day that the season was asked for, else the last day of its logs

    Examples
    --------
    >>> from analysis import open_season
    >>> round_of(open_season("data_demo/season_2026", up_to="2026-05-20")).on.date().isoformat()
    '2026-05-20'
    """
    return Round(season, pd.Timestamp(on).normalize() if on else season.day)
