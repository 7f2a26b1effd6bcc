"""One thing due of one egg, chick or pair, and the rows of several alike."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import name_key
from analysis.needed import typed_frame
from analysis.say import in_words
from analysis.season import Season

PRACTICE = found("due.practice")
DAY = pd.Timedelta(days=1)
# In the order of a morning: who worries first, the scale before the first feed, then the eggs, then the rest.
KINDS = {
    "look again": found("due.look-again"),
    "weigh again": found("due.weigh-again"),
    "pipped": found("due.pipped"),
    "may hatch": found("due.may-hatch"),
    "may pip": found("due.may-pip"),
    "overdue": found("due.overdue"),
    "take out": found("due.take-out"),
    "candle": found("due.candle"),
    "candle again": found("due.candle-again"),
    "nest": found("due.look-in-nest"),
    "ring": found("due.ring"),
    "wean": found("due.wean"),
    "rest": found("due.rest"),
}
COLUMNS = {
    **{"what": "str", "code": "str", "said": "str", "who": "object", "names": "str", "where": "str"},
    **{"since_on": "datetime64[us]", "until_on": "datetime64[us]"},
    **{"reason": "str", "source": "str", "source_code": "str", "brief": "str", "sourced": "bool"},
}


@dataclass(frozen=True)
class Thing:
    """One thing due of one egg, chick or pair; those that differ in name, days and dates alone share a row."""

    what: str  # one of `KINDS`
    who: str  # its name as the logs take it
    name: str  # and as the row tells it
    why: Finding  # the reason, after the days
    source: Finding  # where the numbers are from
    brief: Finding | None = None  # the reason without what is too long for a page to write on, where anything is
    sourced: bool = False  # whether the reason names the source
    group: str = ""  # what sets rows apart beside all this, such as the pair
    of: tuple[str, ...] = ()  # pair and clutch, where many eggs have the number
    where: str = ""  # the pair with its cage, or the incubator or other place
    since_on: pd.Timestamp = pd.NaT
    until_on: pd.Timestamp = pd.NaT  # first and last day; NaT where open
    age_d: int | None = None  # days of incubation or of age, which begin the reason
    about: bool = False  # whether the age is a guess


def rows_of(things: Iterable[Thing]) -> pd.DataFrame:
    """One row for things alike, in the order of `KINDS`, what ends soonest first; see `due_on` for the columns."""
    groups: dict[tuple[object, ...], list[Thing]] = {}
    for one in things:
        alike = (one.what, one.group, one.of, one.where, one.why, one.brief, one.source, one.about)
        groups.setdefault(alike, []).append(one)
    by_name = [sorted(group, key=lambda thing: name_key(thing.name)) for group in groups.values()]
    rows = sorted(map(_row, by_name), key=_turn)
    # The first that rings names the law, which differs from place to place.
    for ring in [row for row in rows if row["what"] == "ring"][:1]:
        ring |= {name: found("due.with-law", what=ring[name]) for name in ("reason", "brief")}
    texts = ("said", "names", "reason", "source", "brief")
    return typed_frame([row | {name: in_words(row[name]) for name in texts} for row in rows], COLUMNS)


def place(season: Season, name: str, cage: str = "") -> str:
    """Where to go for who sits or rears: a pair with the cage it is in, or the place as written; else `cage`."""
    pairs = season.pairs[season.pairs["pair"].map(same) == same(name)]
    cages = [one for one in pairs["cage"] if one and same(one) != same(name)]
    return ", ".join([name, *cages[:1]]) if name else cage


def whose(row: dict[str, Any]) -> dict[str, Any]:
    """What a row of an egg or a chick hands on to a thing."""
    return {name: row[name] for name in ("who", "name", "group", "of", "where")}


def day_range(low: float, high: float) -> Finding:
    """Two days of age: "day 9 to 12", or "day 9"."""
    return found("due.day" if low == high else "due.days", low=low, high=high)


def _row(things: list[Thing]) -> dict[str, Any]:
    first, names = things[0], [thing.name for thing in things]
    of_clutch: dict[str, Any] = dict(zip(("pair", "clutch"), first.of, strict=True)) if first.of else {}
    return {
        "what": first.what,
        "code": first.why.code,
        "said": KINDS[first.what],
        "who": tuple(thing.who for thing in things),
        "names": found("due.names-of-clutch" if of_clutch else "due.names", names=names, **of_clutch),
        "where": first.where,
        "since_on": _soonest(thing.since_on for thing in things),
        "until_on": _soonest(thing.until_on for thing in things),
        "reason": _aged(things, first.why),
        "source": first.source,
        "source_code": first.source.code,
        "brief": _aged(things, first.brief or first.why),
        "sourced": first.sourced,
    }


def _aged(things: list[Thing], what: Finding) -> Finding:
    """What is due, and before it the age, where it has one."""
    ages = [thing.age_d for thing in things if thing.age_d is not None]
    if not ages:
        return what
    days = day_range(min(ages), max(ages))
    return found("due.aged-about" if things[0].about else "due.aged", days=days, what=what)


def _soonest(days: Iterable[pd.Timestamp]) -> pd.Timestamp | None:
    return min((day for day in days if not pd.isna(day)), default=None)


def _turn(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """The order of the rows: what ends soonest first, of those what is due longest."""
    until_on, since_on = (pd.Timestamp.max if row[end] is None else row[end] for end in ("until_on", "since_on"))
    names = row["names"].facts
    who = [name_key(name) for name in (*names["names"], names.get("pair", ""), names.get("clutch", ""))]
    return list(KINDS).index(row["what"]), until_on, since_on, name_key(row["where"]), who
