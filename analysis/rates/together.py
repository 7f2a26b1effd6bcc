"""Losses that come together, against what chance would give: a night or a week that touches several broods."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import found
from analysis.names import by_name, named
from analysis.rates.alive_at_age import BANDS
from analysis.rates.stages import group_names

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

SURPRISING = 0.01  # a season in a hundred (practice)
_CHICKS, _BROODS = 3, 2
_LENGTHS = {"night": 1, "week": 7}
_SCOPES = ("aviary", "room", "place")
_WAYS = tuple(product(_LENGTHS, _SCOPES))
_DAY = pd.Timedelta(days=1)
EVENTS = {
    "event": "object",
    **dict.fromkeys(("kind", "window", "place"), "str"),
    **dict.fromkeys(("from_d", "to_d"), "datetime64[us]"),
    "chicks": "object",
    **dict.fromkeys(("pairs", "broods"), "int64"),
    **dict.fromkeys(("expected", "chance"), "float64"),
    "set_aside": "bool",
}


@dataclass(frozen=True)
class ChickDays:
    """Every day on which a chick (its row in spans) was under watch, since the first of all, and its hazard then."""

    chick: Ints
    day: Ints
    hazard: Floats


@dataclass(frozen=True)
class Losses:
    """Losses of one or many seasons, `chick` and `day` as in `ChickDays`."""

    season: Ints
    chick: Ints
    day: Ints


@dataclass(frozen=True)
class Chance:
    """What chance gives to the chicks of one season, from `by_chance`.

    `brood`: number of each chick's nest. `spots`: of its room and place, by scope; all 0 for the whole aviary. `most`:
    for each of `_WAYS` the most broods that one window of each season touches.
    """

    days: ChickDays
    brood: Ints
    spots: dict[str, Ints]
    most: tuple[Ints, ...]


def losses_together(spans: pd.DataFrame, *, seasons: int = 2_000, seed: int = 20_260_606) -> pd.DataFrame:
    """Losses that come together, with how often chance alone gives as much anywhere in a season.

    Looked at are single days (a night that ends in a finding) and seven days on end, in the whole aviary, each room and
    each place. A window counts **the broods that lost chicks in it**, not the chicks: five dead of one nest are one
    mishap of that nest. (Counting chicks was tried: with one clutch in ten failing whole, a season in five had an event
    set aside that was none. The price: two broods in one night are hardly ever surprising enough.)

    Chance is worked from 2,000 seasons with the same chicks under watch on the same days, each lost on its own with the
    aviary's own chance of loss at its age (see `chick_days`). A window's chance is the share of those seasons in which
    *any* day, week, room or place is as surprising: having looked everywhere is paid for.

    `spans` has a row a chick: chick, pair (that laid), nest (chicks of one nest share a fate), place, room, came_on,
    out_on (days; a loss has the day it was found), entry_d (age in days on came_on), lost.

    Returns a row an event, those set aside first, then by date: event (a finding), kind ("several broods" or "one
    brood"), window ("night" or "week"), place (or room, where all were in one; otherwise blank), from_d, to_d (days of
    the first and last finding), chicks (names), pairs (that laid), broods, expected (losses by chance in that window;
    the event's own are part of what that is reckoned from), chance (NaN for one brood: not asked), set_aside.

    Set aside is what has three chicks or more, two pairs and two broods or more, and a chance below 0.01. A chick is in
    one event only: that with the lowest chance, then the shorter one. After an event is set aside all is worked anew
    without its losses. "one brood", three chicks or more of one nest within a week, is never set aside here.

    Sources: Naus 1965 (scan statistics), Westfall & Young 1993 (the smallest p) (from memory).
    """
    left = spans.reset_index(drop=True)
    excluded: list[dict[str, Any]] = []
    chance = by_chance(left, seasons, seed)
    while (event := most_surprising(left, chance)) and event["set_aside"]:
        excluded.append(event)
        left = _without(left, event)
        chance = by_chance(left, seasons, seed)
    rest: list[dict[str, Any]] = []
    while other := _one_brood(left) or most_surprising(left, chance):
        rest.append(other)
        left = _without(left, other)
    events = [event for part in (excluded, rest) for event in sorted(part, key=lambda event: event["from_d"])]
    return pd.DataFrame(events, columns=list(EVENTS)).astype(EVENTS)


def _without(spans: pd.DataFrame, event: dict[str, Any]) -> pd.DataFrame:
    """Spans in which the chicks of an event were seen until then, and not lost."""
    return spans.assign(lost=spans["lost"] & ~spans["chick"].isin(event["chicks"]))


def by_chance(spans: pd.DataFrame, seasons: int, seed: int) -> Chance | None:
    """Make seasons by chance; None where fewer chicks were lost than make an event."""
    if spans["lost"].sum() < _CHICKS:
        return None
    days, brood = chick_days(spans), _codes(spans["nest"])
    made = seasons_by_chance(days, seasons, seed)
    spots = {"aviary": np.zeros_like(brood)} | {scope: _codes(spans[scope]) for scope in _SCOPES[1:]}
    most = (most_broods(windows(made, spots[scope], brood, _LENGTHS[window]), seasons) for window, scope in _WAYS)
    return Chance(days, brood, spots, tuple(most))


def _codes(names: pd.Series) -> Ints:
    return np.asarray(pd.factorize(named(names))[0], np.int64)


def chick_days(spans: pd.DataFrame) -> ChickDays:
    """Days under watch, with the aviary's own chance of loss at that age.

    Within each band of age it is losses over chick-days, drawn towards that of all ages as if one loss more had been
    seen at it; then all are scaled so that as many losses are expected as there were.
    """
    unknown = spans[["came_on", "out_on", "entry_d", "lost"]].isna().any(axis=None)
    if unknown or (spans["out_on"] < spans["came_on"]).any():
        raise ValueError("came_on, out_on, entry_d and lost must be known, and no chick may go before it comes")
    came = ((spans["came_on"] - spans["came_on"].min()) / _DAY).to_numpy().astype(np.int64)
    days = ((spans["out_on"] - spans["came_on"]) / _DAY).to_numpy().astype(np.int64) + 1
    chick = np.repeat(np.arange(len(spans)), days)
    nth = np.arange(days.sum()) - np.repeat(np.cumsum(days) - days, days)
    age = np.floor(spans["entry_d"].to_numpy(dtype=float)).astype(np.int64)[chick] + nth
    lost = spans["lost"].to_numpy(dtype=bool)[chick] & (nth == days[chick] - 1)
    band = np.searchsorted([first for first, _ in BANDS], age, side="right") - 1
    at_risk, losses = (np.bincount(band, weights=w, minlength=len(BANDS)) for w in (None, lost))
    overall = max(losses.sum(), 1) / len(band)
    rate = (losses + 1) / (at_risk + 1 / overall)
    hazard = rate[band] * losses.sum() / rate[band].sum()
    return ChickDays(chick, came[chick] + nth, np.minimum(hazard, 0.99))


def seasons_by_chance(days: ChickDays, seasons: int, seed: int) -> Losses:
    """Losses of seasons with the same chicks on the same days, each lost on its own.

    Each chick-day is hit by a Poisson number of mean −ln(1 − h), which is above none with chance h, its hazard. That a
    chick can be lost on two of its days is let stand: a brood that loses it twice is still one brood.
    """
    rng = np.random.default_rng(seed)
    total = np.cumsum(-np.log1p(-days.hazard))
    hits = rng.poisson(total[-1], size=seasons)
    cell = np.searchsorted(total, rng.random(hits.sum()) * total[-1], side="right").clip(max=len(total) - 1)
    season, cell = np.divmod(np.unique(np.repeat(np.arange(seasons), hits) * len(total) + cell), len(total))
    return Losses(season, days.chick[cell], days.day[cell])


def windows(losses: Losses, place: Ints, brood: Ints, length_d: int) -> pd.DataFrame:
    """Every window of `length_d` days that begins with a loss: season, place, day (its first), lost, broods."""
    spots, broods, last = int(place.max()) + 1, int(brood.max()) + 1, int(losses.day.max()) + 1
    row = (losses.season * spots + place[losses.chick]) * last
    ago = np.arange(length_d)[:, None]
    begins = row + losses.day - ago
    with_loss = np.isin(begins, row + losses.day) & (ago <= losses.day)
    whose = np.broadcast_to(brood[losses.chick], begins.shape)
    each, lost = np.unique(begins[with_loss] * broods + whose[with_loss], return_counts=True)
    key, first = np.unique(each // broods, return_index=True)
    season, spot = np.divmod(key // last, spots)
    columns = {"season": season, "place": spot, "day": key % last, "lost": np.add.reduceat(lost, first)}
    return pd.DataFrame(columns | {"broods": np.diff(np.append(first, len(each)))})


def most_broods(found: pd.DataFrame, seasons: int) -> Ints:
    """Most broods that one window of each season touches, 0 where nothing was lost."""
    most = np.zeros(seasons, dtype=np.int64)
    np.maximum.at(most, found["season"].to_numpy(), found["broods"].to_numpy())
    return most


def chances(most: Sequence[Ints], seen: Sequence[Ints]) -> list[Floats]:
    """How often chance gives a window as surprising as each seen one, anywhere and in any way of looking.

    `most` has for each way of looking the largest value of each season that chance made, `seen` those of the windows
    seen. A value's rank in its own way is (1 + seasons with as much) / (1 + seasons); its chance the share of seasons
    whose own lowest rank is as low: Westfall & Young's (1993) smallest p (from memory).
    """
    lowest = np.sort(np.min([_rank(own, own) for own in most], axis=0))
    ranks = [_rank(own, values) for own, values in zip(most, seen, strict=True)]
    return [(1 + np.searchsorted(lowest, rank, side="right")) / (1 + len(lowest)) for rank in ranks]


def _rank(most: Ints, values: Ints) -> Floats:
    as_much = len(most) - np.searchsorted(np.sort(most), values, side="left")
    return np.asarray((1 + as_much) / (1 + len(most)))


def most_surprising(spans: pd.DataFrame, chance: Chance | None) -> dict[str, Any] | None:
    """Three losses or more of several broods and pairs: lowest chance, then shorter, then rarest where looked at."""
    from scipy.stats import poisson

    if chance is None or spans["lost"].sum() < _CHICKS:
        return None
    rows = _candidates(spans, chance)
    for _, equals in rows.groupby(["chance", "length"], sort=True):
        events = [_several_broods(spans, chance.days, row) for row in equals.to_dict("records")]
        events = [event for event in events if event["pairs"] >= _BROODS]
        if events:
            return min(events, key=lambda event: poisson.logsf(len(event["chicks"]) - 1, event["expected"]))
    return None


def _candidates(spans: pd.DataFrame, chance: Chance) -> pd.DataFrame:
    """Windows with three losses or more of several broods, in every way of looking, with their chance."""
    lost = np.flatnonzero(spans["lost"])
    day = ((spans["out_on"].iloc[lost] - spans["came_on"].min()) / _DAY).to_numpy().astype(np.int64)
    seen, tables = Losses(np.zeros_like(lost), lost, day), []
    for window, scope in _WAYS:
        spot, length = chance.spots[scope], _LENGTHS[window]
        table = windows(seen, spot, chance.brood, length)
        table = table[(table["lost"] >= _CHICKS) & (table["broods"] >= _BROODS)]
        there = [spot == at for at in table["place"]]
        tables.append(table.assign(window=window, length=length, there=there))
    shares = chances(chance.most, [table["broods"].to_numpy() for table in tables])
    return pd.concat([table.assign(chance=share) for table, share in zip(tables, shares, strict=True)])


def _several_broods(spans: pd.DataFrame, days: ChickDays, row: dict[Any, Any]) -> dict[str, Any]:
    first = spans["came_on"].min() + pd.Timedelta(days=row["day"])
    end = first + pd.Timedelta(days=row["length"] - 1)
    inside = spans["lost"] & spans["out_on"].between(first, end) & row["there"]
    then = (days.day >= row["day"]) & (days.day < row["day"] + row["length"])
    return _event(spans[inside], "several broods", row["window"]) | {
        "chance": row["chance"],
        "expected": float(days.hazard[row["there"][days.chick] & then].sum()),
        "set_aside": bool(row["chance"] < SURPRISING),
    }


def _one_brood(spans: pd.DataFrame) -> dict[str, Any] | None:
    """Three or more of one nest within a week: that with most chicks, then the first."""
    lost, events = spans[spans["lost"] & (spans["nest"] != "")], []
    for _, brood in lost[lost.groupby("nest")["nest"].transform("size") >= _CHICKS].groupby("nest"):
        for first in brood["out_on"].unique():
            within = brood[brood["out_on"].between(first, first + pd.Timedelta(days=_LENGTHS["week"] - 1))]
            if len(within) >= _CHICKS:
                window = "night" if len(set(within["out_on"])) == 1 else "week"
                unasked = {"expected": np.nan, "chance": np.nan, "set_aside": False}
                events.append(_event(within, "one brood", window) | unasked)
    return min(events, key=lambda event: (-len(event["chicks"]), event["from_d"]), default=None)


def _event(chicks: pd.DataFrame, kind: str, window: str) -> dict[str, Any]:
    first, last, pairs = chicks["out_on"].min(), chicks["out_on"].max(), chicks["pair"].nunique()
    places = [chicks[column].iloc[0] for column in ("place", "room") if len(set(chicks[column])) == 1]
    facts = {"kind": kind, "window": window, "place": places[0] if places else "", "from_d": first, "to_d": last}
    counts = {"chicks": tuple(chicks["chick"]), "pairs": pairs, "broods": chicks["nest"].nunique()}
    when = found("rates.from-to", first=first, last=last) if last > first else found("rates.on-a-day", day=first)
    code = "rates.together-one-brood" if kind == "one brood" else "rates.together"
    return facts | counts | {"event": found(code, chicks=len(chicks), pairs=pairs, when=when)}


def without_events(chicks: pd.DataFrame, events: pd.DataFrame, by: str | None = "pair") -> pd.DataFrame:
    """Weaning counts with all losses, and without the chicks of the events that are set aside.

    `chicks` has a row a chick: chick, fate, and the column `by` (None: all together); `events` is from
    `losses_together`. Returns a row a group, by name: name ("aviary" for all, "not written" where it is blank), worked
    (weaned), tried (weaned or lost), worked_without, tried_without: a chick set aside is in neither.
    """
    excluded = {chick for names in events.loc[events["set_aside"].astype(bool), "chicks"] for chick in names}
    kept = ~chicks["chick"].isin(excluded)
    worked = chicks["fate"] == "weaned"
    tried = worked | (chicks["fate"] == "lost")
    counts = {"worked": worked, "tried": tried, "worked_without": worked & kept, "tried_without": tried & kept}
    sums = pd.DataFrame(counts).groupby(group_names(chicks, by)).sum().astype(int)
    return sums.loc[by_name(sums.index)].rename_axis("name").reset_index()
