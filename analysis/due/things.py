"""One thing due of one egg, chick or pair, and the rows of several alike."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.logs.names import same
from analysis.names import name_key
from analysis.season import Season
from analysis.season.frames import typed_frame
from analysis.words import listed

DAY = pd.Timedelta(days=1)
# In the order of a morning: who worries first, the scale before the first feed, then the eggs, then the rest.
KINDS = ("look again", "weigh again", "may hatch", "may pip", "overdue", "candle", "ring", "wean", "rest")
COLUMNS = {
    "what": "str",
    "who": "object",
    "names": "str",
    "where": "str",
    "since_on": "datetime64[us]",
    "until_on": "datetime64[us]",
    "reason": "str",
    "source": "str",
    "brief": "str",
    "sourced": "bool",
}


@dataclass(frozen=True)
class Thing:
    """One thing due of one egg, chick or pair; those that differ in name, days and dates alone share a row.

    Attributes
    ----------
    what : one of `KINDS`
    who : its name as the logs take it
    name : its name as the row tells it
    said : the reason, after the days
    source : where the numbers are from
    brief : the reason without what is too long for a page to write on; blank where nothing is
    sourced : whether the reason names the source
    group : what sets rows apart beside all this, such as the pair
    of : what follows the names, such as " of P1" where many eggs have the number
    where : the pair with its cage, or the incubator or other place
    since_on, until_on : first and last day; NaT where open
    age_d : days of incubation or of age, which begin the reason; None where it has none
    about : whether the age is a guess
    """

    what: str
    who: str
    name: str
    said: str
    source: str
    brief: str = ""
    sourced: bool = False
    group: str = ""
    of: str = ""
    where: str = ""
    since_on: pd.Timestamp = pd.NaT
    until_on: pd.Timestamp = pd.NaT
    age_d: int | None = None
    about: bool = False

    @property
    def alike(self) -> tuple[object, ...]:
        """What the things of one row have in common."""
        return self.what, self.group, self.of, self.where, self.said, self.brief, self.source, self.about


def rows_of(things: Iterable[Thing]) -> pd.DataFrame:
    """One row for things alike, in the order of `KINDS`, what ends soonest first; see `due_on` for the columns."""
    groups: dict[tuple[object, ...], list[Thing]] = {}
    for thing in things:
        groups.setdefault(thing.alike, []).append(thing)
    rows = [_row(sorted(group, key=lambda thing: name_key(thing.name))) for group in groups.values()]
    return typed_frame(sorted(rows, key=_turn), COLUMNS)


def place(season: Season, name: str, cage: str = "") -> str:
    """Where to go for who sits or rears: a pair with the cage it is in, or the place as written.

    Parameters
    ----------
    season : Season
    name : a pair, an incubator or another place; blank where it is not known
    cage : what stands in its stead where it is blank
    """
    pairs = season.pairs[season.pairs["pair"].map(same) == same(name)]
    cages = [one for one in pairs["cage"] if one]
    return ", ".join([name, *cages[:1]]) if name else cage


def day_range(low: float, high: float) -> str:
    """Two days of age in words.

    Examples
    --------
    >>> day_range(9, 12), day_range(9, 9)
    ('day 9 to 12', 'day 9')
    """
    return f"day {low:g}" if low == high else f"day {low:g} to {high:g}"


def _row(things: list[Thing]) -> dict[str, Any]:
    first = things[0]
    return {
        "what": first.what,
        "who": tuple(thing.who for thing in things),
        "names": listed(thing.name for thing in things) + first.of,
        "where": first.where,
        "since_on": _soonest(thing.since_on for thing in things),
        "until_on": _soonest(thing.until_on for thing in things),
        "reason": _days(things) + first.said,
        "source": first.source,
        "brief": _days(things) + (first.brief or first.said),
        "sourced": first.sourced,
    }


def _days(things: list[Thing]) -> str:
    ages = [thing.age_d for thing in things if thing.age_d is not None]
    if not ages:
        return ""
    return f"{'about ' * things[0].about}{day_range(min(ages), max(ages))}; "


def _soonest(days: Iterable[pd.Timestamp]) -> pd.Timestamp | None:
    return min((day for day in days if not pd.isna(day)), default=None)


def _turn(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """The order of the rows: what ends soonest first, of those what is due longest."""
    until_on, since_on = (pd.Timestamp.max if row[end] is None else row[end] for end in ("until_on", "since_on"))
    return KINDS.index(row["what"]), until_on, since_on, name_key(row["where"]), name_key(row["names"])
