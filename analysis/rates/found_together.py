"""Which losses came together: windows that touch several broods, and nests that lost three or more in a week."""

from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import found
from analysis.names import named
from analysis.rates.windows import ChickDays, Ints, Losses, chances, chick_days, most_broods, seasons_by_chance, windows

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
