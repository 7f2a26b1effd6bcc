"""Losses that come together, against what chance would give: a night or a week that touches several broods."""

from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import found
from analysis.names import by_name, named
from analysis.rates.daily_survival import (
    ChickDays,
    Ints,
    Losses,
    chances,
    chick_days,
    most_broods,
    seasons_by_chance,
    windows,
)

SURPRISING = 0.01  # a season in a hundred (practice)
_CHICKS, _BROODS = 3, 2
_LENGTHS = {"night": 1, "week": 7}
_SCOPES = ("aviary", "room", "place")
_WAYS = tuple(product(_LENGTHS, _SCOPES))


@dataclass(frozen=True)
class Chance:
    """What chance gives to the chicks of one season.

    Parameters
    ----------
    days : every chick-day, with its chance of loss
    brood : number of each chick's nest
    spots : numbers of each chick's room and place, by scope; all 0 for the whole aviary
    most : a way of looking (night or week, in the aviary, a room or a place) each, the most broods of each season
    """

    days: ChickDays
    brood: Ints
    spots: dict[str, Ints]
    most: tuple[Ints, ...]


def by_chance(spans: pd.DataFrame, seasons: int, seed: int) -> Chance | None:
    """Make seasons by chance; None where fewer chicks were lost than make an event."""
    if spans["lost"].sum() < _CHICKS:
        return None
    days, brood = chick_days(spans), _codes(spans["nest"])
    made = seasons_by_chance(days, seasons, seed)
    spots = {"aviary": np.zeros_like(brood)} | {scope: _codes(spans[scope]) for scope in _SCOPES[1:]}
    most = (most_broods(windows(made, spots[scope], brood, _LENGTHS[window]), seasons) for window, scope in _WAYS)
    return Chance(days, brood, spots, tuple(most))


def most_surprising(spans: pd.DataFrame, chance: Chance | None) -> dict[str, Any] | None:
    """Three losses or more of several broods and pairs: lowest chance, then shorter, then rarest where looked at.

    Parameters
    ----------
    spans : frame
        As `by_chance` had it; losses told already may have become False.
    chance : Chance or None
    """
    from scipy.stats import poisson

    if chance is None or spans["lost"].sum() < _CHICKS:
        return None
    rows = _candidates(spans, chance)
    for _, equals in rows.groupby(["chance", "length"], sort=True):
        events = [_event(spans, chance.days, row) for row in equals.to_dict("records")]
        events = [event for event in events if event["pairs"] >= _BROODS]
        if events:
            return min(events, key=lambda event: poisson.logsf(len(event["chicks"]) - 1, event["expected"]))
    return None


def _candidates(spans: pd.DataFrame, chance: Chance) -> pd.DataFrame:
    """Windows with three losses or more of several broods, in every way of looking, with their chance."""
    lost = np.flatnonzero(spans["lost"])
    day = ((spans["out_on"].iloc[lost] - spans["came_on"].min()) / pd.Timedelta(days=1)).to_numpy().astype(np.int64)
    seen, tables = Losses(np.zeros_like(lost), lost, day), []
    for window, scope in _WAYS:
        spot, length = chance.spots[scope], _LENGTHS[window]
        table = windows(seen, spot, chance.brood, length)
        table = table[(table["lost"] >= _CHICKS) & (table["broods"] >= _BROODS)]
        there = [spot == at for at in table["place"]]
        tables.append(table.assign(window=window, length=length, there=there))
    shares = chances(chance.most, [table["broods"].to_numpy() for table in tables])
    return pd.concat([table.assign(chance=share) for table, share in zip(tables, shares, strict=True)])


def one_brood(spans: pd.DataFrame) -> dict[str, Any] | None:
    """Three or more of one nest within a week: that with most chicks, then the first."""
    lost, events = spans[spans["lost"] & (spans["nest"] != "")], []
    for _, brood in lost[lost.groupby("nest")["nest"].transform("size") >= _CHICKS].groupby("nest"):
        for first in brood["out_on"].unique():
            within = brood[brood["out_on"].between(first, first + pd.Timedelta(days=_LENGTHS["week"] - 1))]
            if len(within) >= _CHICKS:
                window = "night" if len(set(within["out_on"])) == 1 else "week"
                unasked = {"expected": np.nan, "chance": np.nan, "set_aside": False}
                events.append(_told(within, "one brood", window) | unasked)
    return min(events, key=lambda event: (-len(event["chicks"]), event["from_d"]), default=None)


def _codes(names: pd.Series) -> Ints:
    codes: Ints = pd.factorize(named(names))[0].astype(np.int64)
    return codes


def _event(spans: pd.DataFrame, days: ChickDays, row: dict[Any, Any]) -> dict[str, Any]:
    """One window, as it is told."""
    first = spans["came_on"].min() + pd.Timedelta(days=row["day"])
    end = first + pd.Timedelta(days=row["length"] - 1)
    inside = spans["lost"] & spans["out_on"].between(first, end) & row["there"]
    then = (days.day >= row["day"]) & (days.day < row["day"] + row["length"])
    told = _told(spans[inside], "several broods", row["window"]) | {"chance": row["chance"]}
    told["expected"] = float(days.hazard[row["there"][days.chick] & then].sum())
    told["set_aside"] = bool(row["chance"] < SURPRISING)
    return told


def _told(chicks: pd.DataFrame, kind: str, window: str) -> dict[str, Any]:
    """What is said of chicks lost together."""
    first, last, pairs = chicks["out_on"].min(), chicks["out_on"].max(), chicks["pair"].nunique()
    places = [chicks[column].iloc[0] for column in ("place", "room") if len(set(chicks[column])) == 1]
    facts = {"kind": kind, "window": window, "place": places[0] if places else "", "from_d": first, "to_d": last}
    counts = {"chicks": tuple(chicks["chick"]), "pairs": pairs, "broods": chicks["nest"].nunique()}
    when = found("rates.from-to", first=first, last=last) if last > first else found("rates.on-a-day", day=first)
    code = "rates.together-one-brood" if kind == "one brood" else "rates.together"
    return facts | counts | {"event": found(code, chicks=len(chicks), pairs=pairs, when=when)}


EVENTS = {
    "event": "object",
    "kind": "str",
    "window": "str",
    "place": "str",
    "from_d": "datetime64[us]",
    "to_d": "datetime64[us]",
    "chicks": "object",
    "pairs": "int64",
    "broods": "int64",
    "expected": "float64",
    "chance": "float64",
    "set_aside": "bool",
}
_COUNTS = ("worked", "tried", "worked_without", "tried_without")


def losses_together(spans: pd.DataFrame, *, seasons: int = 2_000, seed: int = 20_260_606) -> pd.DataFrame:
    """Losses that come together, with how often chance alone gives as much anywhere in a season.

    Looked at are single days (a night that ends in a finding) and seven days on end, in the whole aviary, in
    each room and in each place. A window counts **the broods that lost chicks in it**, not the chicks: whole
    clutches fail, and five dead of one nest are one mishap of that nest.

    Chance is worked from 2,000 seasons with the same chicks under watch on the same days, each lost on
    its own with the aviary's own chance of loss at its age (see `chick_days`). So it is heeded
    that many chicks hatch together and that the young die more. A window's chance is the share of those
    seasons in which *any* day, week, room or place is as surprising: having looked everywhere is paid for.

    Parameters
    ----------
    spans : frame
        A row a chick: chick, pair (that laid), nest (chicks of one nest share a fate), place, room, came_on, out_on
        (days; a loss has the day it was found), entry_d (age in days on came_on), lost.
    seasons, seed
        Seasons made by chance, and where their random numbers begin: the same digits on every run.

    Returns
    -------
    frame, a row an event: those set aside first, then by date
        event (a finding: "5 chicks of 4 pairs on 6 June 2026"), kind ("several broods" or "one brood"), window
        ("night" or "week"), place (or room, where all were in one; otherwise blank), from_d, to_d (days of the first
        and last finding), chicks (names), pairs (that laid), broods, expected (losses by chance in that night, or in
        seven days from from_d, where it was looked at; the event's own losses are part of what that is reckoned from),
        chance (NaN for one brood: not asked), set_aside.

        Set aside is what has three chicks or more, two pairs and two broods or more, and a chance below 0.01.
        A chick is in one event only: the one with the lowest chance has it, then the shorter one. After an event
        is set aside all is worked anew without its losses. "one brood": three chicks or more of one
        nest within a week; a clutch that failed, never set aside here.

    Notes
    -----
    Counting chicks instead of broods was tried: with one clutch in ten failing whole, a season in five then had an
    event set aside that was none. The price: two broods in one night are hardly ever surprising enough.
    Sources: Naus 1965 (scan statistics), Westfall & Young 1993 (the smallest p) (from memory).

    Examples
    --------
    Thirty chicks of ten broods, a day apart; in one night three go, of three broods, and no other is lost:

    >>> from analysis.say import in_words
    >>> came = pd.date_range("2026-03-01", periods=30)
    >>> spans = pd.DataFrame({"chick": [f"K{n}" for n in range(30)], "pair": [f"P{n // 3}" for n in range(30)],
    ...     "came_on": came, "out_on": came + pd.Timedelta(days=40), "entry_d": 0.0, "lost": False})
    >>> spans = spans.assign(nest=spans["pair"], place="hand", room="hand")
    >>> spans.loc[[9, 12, 15], ["out_on", "lost"]] = [pd.Timestamp("2026-03-20"), True]
    >>> event = losses_together(spans).loc[0]
    >>> in_words(event["event"]), event["place"], event["chicks"], bool(event["set_aside"])
    ('3 chicks of 3 pairs on 20 March 2026', 'hand', ('K9', 'K12', 'K15'), True)
    """
    left = spans.reset_index(drop=True)
    told: list[dict[str, Any]] = []
    chance = by_chance(left, seasons, seed)
    while (event := most_surprising(left, chance)) and event["set_aside"]:
        told.append(event)
        left = _without(left, event)
        chance = by_chance(left, seasons, seed)
    rest: list[dict[str, Any]] = []
    while other := one_brood(left) or most_surprising(left, chance):
        rest.append(other)
        left = _without(left, other)
    told = [event for part in (told, rest) for event in sorted(part, key=lambda event: event["from_d"])]
    return pd.DataFrame(told, columns=list(EVENTS)).astype(EVENTS)


def _without(spans: pd.DataFrame, event: dict[str, Any]) -> pd.DataFrame:
    """Spans in which the chicks of an event were seen until then, and not lost."""
    return spans.assign(lost=spans["lost"] & ~spans["chick"].isin(event["chicks"]))


def without_events(chicks: pd.DataFrame, events: pd.DataFrame, by: str | None = "pair") -> pd.DataFrame:
    """Weaning counts with all losses, and without the chicks of the events that are set aside.

    Parameters
    ----------
    chicks : frame
        A row a chick: chick, fate ("weaned", "lost", "left", "being reared"), and the column `by`.
    events : frame
        From `losses_together`.
    by : column of chicks, or None
        None: all chicks together.

    Returns
    -------
    frame, a row a group, by name
        name ("aviary" for all, "not written" where it is blank), worked (weaned), tried (weaned or lost),
        worked_without, tried_without: a chick set aside is in neither.

    Examples
    --------
    >>> chicks = pd.DataFrame({"chick": ["K1", "K2", "K3"], "pair": "P1", "fate": ["weaned", "lost", "lost"]})
    >>> events = pd.DataFrame({"chicks": [("K3",)], "set_aside": [True]})
    >>> without_events(chicks, events).to_dict("split")["data"]
    [['P1', 1, 3, 1, 2]]
    """
    aside = {chick for names in events.loc[events["set_aside"].astype(bool), "chicks"] for chick in names}
    kept = ~chicks["chick"].isin(aside)
    worked = chicks["fate"] == "weaned"
    tried = worked | (chicks["fate"] == "lost")
    names = pd.Series("aviary", index=chicks.index, dtype=object) if by is None else named(chicks[by])
    counts = dict(zip(_COUNTS, (worked, tried, worked & kept, tried & kept), strict=True))
    sums = pd.DataFrame(counts).groupby(names).sum().astype(int)
    return sums.loc[by_name(sums.index)].rename_axis("name").reset_index()
