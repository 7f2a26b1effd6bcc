"""Share of chicks or nests that live through a day, where many were found late (Mayfield; Johnson)."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.names import by_name, named
from analysis.rates.survival import BANDS

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ChickDays:
    """Every day on which a chick was under watch, in order of chick and day.

    Parameters
    ----------
    chick, day : arrays, one entry a chick-day
        Row of the chick in spans; days since the first day of all.
    hazard : array, one entry a chick-day
        Chance of being lost on it.
    """

    chick: Ints
    day: Ints
    hazard: Floats


@dataclass(frozen=True)
class Losses:
    """Losses of one or many seasons.

    Parameters
    ----------
    season, chick, day : arrays, one entry a loss
        Number of the season; row of the chick in spans; days since the first day of all.
    """

    season: Ints
    chick: Ints
    day: Ints


def chick_days(spans: pd.DataFrame) -> ChickDays:
    """Days under watch, with the aviary's own chance of loss at that age.

    Within each band of age (0–2, 3–7, 8–14, 15–28, 29 days and over) it is losses over chick-days, drawn
    towards that of all ages as if one loss more had been seen at it; then all are scaled so that as many losses
    are expected as there were.

    Parameters
    ----------
    spans : frame
        came_on, out_on (days, both under watch), entry_d (age in days on came_on), lost.

    Raises
    ------
    ValueError
        Where one of them is missing, or a chick goes before it comes.
    """
    if (
        spans[["came_on", "out_on", "entry_d", "lost"]].isna().any(axis=None)
        or (spans["out_on"] < spans["came_on"]).any()
    ):
        raise ValueError("came_on, out_on, entry_d and lost must be known, and no chick may go before it comes")
    came = ((spans["came_on"] - spans["came_on"].min()) / pd.Timedelta(days=1)).to_numpy().astype(np.int64)
    days = ((spans["out_on"] - spans["came_on"]) / pd.Timedelta(days=1)).to_numpy().astype(np.int64) + 1
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

    Each chick-day is lost with its hazard h: it is hit by a Poisson number of mean −ln(1 − h), which is
    above none with chance h, so that only hits are drawn. That a chick can be lost on two of its days is let stand: so
    as many losses are expected as there were, and a brood that loses it twice is still one brood.
    """
    rng = np.random.default_rng(seed)
    total = np.cumsum(-np.log1p(-days.hazard))
    hits = rng.poisson(total[-1], size=seasons)
    cell = np.searchsorted(total, rng.random(hits.sum()) * total[-1], side="right").clip(max=len(total) - 1)
    season, cell = np.divmod(np.unique(np.repeat(np.arange(seasons), hits) * len(total) + cell), len(total))
    return Losses(season, days.chick[cell], days.day[cell])


def windows(losses: Losses, place: Ints, brood: Ints, length_d: int) -> pd.DataFrame:
    """Every window that begins with a loss, by season and place.

    Parameters
    ----------
    losses : Losses
    place, brood : arrays, one entry a chick
        Number of the place (all 0: the whole aviary) and of the brood.
    length_d : days
        Length of a window.

    Returns
    -------
    frame
        season, place, day (its first), lost, broods (that lost any).
    """
    spots, broods, last = int(place.max()) + 1, int(brood.max()) + 1, int(losses.day.max()) + 1
    row = (losses.season * spots + place[losses.chick]) * last
    ago = np.arange(length_d)[:, None]
    begins = row + losses.day - ago
    held = np.isin(begins, row + losses.day) & (ago <= losses.day)
    whose = np.broadcast_to(brood[losses.chick], begins.shape)
    each, lost = np.unique(begins[held] * broods + whose[held], return_counts=True)
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

    Parameters
    ----------
    most : arrays, one a way of looking
        Largest value of each season that chance made.
    seen : arrays, one a way of looking
        Values of the windows that were seen.

    Returns
    -------
    arrays like `seen`
        A value's rank in its own way of looking is (1 + seasons with as much) / (1 + seasons). Its chance is the share
        of seasons whose own lowest rank is as low: Westfall & Young's (1993) smallest p, so that looking at
        nights and weeks, rooms and brooders is paid for (from memory).
    """
    lowest = np.min([_rank(own, own) for own in most], axis=0)
    return [_share_up_to(lowest, _rank(own, values)) for own, values in zip(most, seen, strict=True)]


def _rank(most: Ints, values: Ints) -> Floats:
    as_much = len(most) - np.searchsorted(np.sort(most), values, side="left")
    rank: Floats = (1 + as_much) / (1 + len(most))
    return rank


def _share_up_to(lowest: Floats, rank: Floats) -> Floats:
    share: Floats = (1 + np.searchsorted(np.sort(lowest), rank, side="right")) / (1 + len(lowest))
    return share


Z = 1.959963984540054  # 97.5th centile of the standard normal
TAIL = 0.025
DAILY = ["losses", "exposure_d", "daily", "se", "daily_low", "daily_high", "over_d", "survival", "low", "high"]


def exposure(spans: pd.DataFrame, by: str | None = None) -> pd.DataFrame:
    """Days under watch and losses, of all chicks or by group: what `daily_survival` is reckoned from.

    Parameters
    ----------
    spans : frame
        A row a chick: entry_d, exit_d (age in days), lost; and the column `by`. A loss has the middle of the
        days between the last good look and the finding.
    by : column of spans, or None
        None: all chicks together.

    Returns
    -------
    frame, a row a group, by name
        group (`by`, or "aviary"), name ("not written" where it is blank), chicks, losses, exposure_d (days).

    Examples
    --------
    >>> spans = pd.DataFrame({"entry_d": [0, 0, 9], "exit_d": [2.5, 20, 40], "lost": [True, False, False],
    ...                       "room": ["front", "front", "back"]})
    >>> exposure(spans, by="room").to_dict("split")["data"]
    [['room', 'back', 1, 0, 31.0], ['room', 'front', 2, 1, 22.5]]
    """
    names = pd.Series("aviary", index=spans.index, dtype=object) if by is None else named(spans[by])
    days = (spans["exit_d"] - spans["entry_d"]).astype(float)
    if (days < 0).any() or days.isna().any():
        raise ValueError("entry_d and exit_d must be known, and no chick may go before it comes")
    rows = pd.DataFrame({"chicks": 1, "losses": spans["lost"].astype(int), "exposure_d": days}).groupby(names).sum()
    rows = rows.loc[by_name(rows.index)].rename_axis("name").reset_index()
    rows.insert(0, "group", by or "aviary")
    return rows


def daily_survival(losses: ArrayLike, exposure_d: ArrayLike, over_d: ArrayLike = 1.0) -> pd.DataFrame:
    """Share that lives through a day, and through `over_d` days, from losses and days under watch.

    With L losses in E days under watch, Mayfield's share a day and Johnson's standard error are::

        s = 1 − L/E,    se = √((E − L) L / E³),    over d days: s ** d

    The 95 % interval is worked on the scale of ln(s / (1 − s)), where it is ± 1.96 / √(L (1 − L/E)), and turned
    back. It so stays within 0 and 1, leans to the side where there is more room, and is what a logistic
    regression on the days gives. The interval over d days is that of one day, each end to the power d.

    **None lost** gives no standard error, and yet is not certain: the low end is then the share at which
    none lost in E days is seen once in forty, ``0.025 ** (1/E)`` (Clopper and Pearson's), the high end 1. All lost
    on their first day (L = E) is the same turned round. So no interval is ever without width.

    Parameters
    ----------
    losses : whole numbers
        Chicks, eggs or nests lost.
    exposure_d : numbers of a shape that fits
        Days they were under watch, all together; from `exposure`.
    over_d : number, or numbers of a shape that fits
        Days for which the share is wanted.

    Returns
    -------
    frame, a row each
        losses, exposure_d, daily (s), se (NaN where none or all were lost), daily_low, daily_high, over_d,
        survival (s ** over_d), low, high. With no days, or more losses than days, nothing is known: NaN, and
        from 0 to 1.

    Raises
    ------
    ValueError
        Losses that are no counts, days below zero or not known, or over_d below zero.

    Notes
    -----
    The share is taken to be the same on every day. Chicks are lost young: over a whole rearing, prefer `survival_to`.
    Sources: Mayfield 1961, *Wilson Bulletin* 73:255; Johnson 1979, *Auk* 96:651; Shaffer 2004, *Auk* 121:526
    (logistic exposure) (from memory).

    Examples
    --------
    Mayfield's warblers, 35 losses in 878 days, over 30 days:

    >>> daily_survival(35, 878, over_d=30)[["daily", "se", "survival"]].round(4).to_numpy().tolist()
    [[0.9601, 0.0066, 0.2951]]
    """
    lost, days, over = (
        np.array(values, dtype=float).ravel() for values in np.broadcast_arrays(losses, exposure_d, over_d)
    )
    _check(lost, days, over)
    known = (days > 0) & (lost <= days)
    safe = np.where(known, days, 1.0)
    share = np.where(known, 1 - lost / safe, np.nan)
    inside = known & (lost > 0) & (lost < days)
    se = np.where(inside, np.sqrt((days - lost).clip(0) * lost / safe**3), np.nan)
    low, high = _ends(share, lost, safe, inside)
    low, high = np.where(known, low, 0.0), np.where(known, high, 1.0)
    powers = (share**over, low**over, high**over)
    return pd.DataFrame(dict(zip(DAILY, (lost.astype(int), days, share, se, low, high, over, *powers), strict=True)))


def _check(lost: NDArray[np.float64], days: NDArray[np.float64], over: NDArray[np.float64]) -> None:
    """Refuse what is no count and no number of days."""
    if not (np.isfinite(lost) & (lost >= 0) & (lost == np.floor(lost))).all():
        raise ValueError("losses must be whole numbers from 0 up")
    if not (np.isfinite(days) & (days >= 0)).all():
        raise ValueError("exposure_d must be numbers of days from 0 up")
    if not (np.isfinite(over) & (over >= 0)).all():
        raise ValueError("over_d must be numbers of days from 0 up")


def _ends(
    share: NDArray[np.float64], lost: NDArray[np.float64], days: NDArray[np.float64], inside: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Ends of the interval of one day: on the logit scale, and exact where none or all were lost."""
    s, n = np.where(inside, share, 0.5), np.where(inside, lost, 1.0)
    spread = np.exp(Z / np.sqrt(n * s))
    odds = s / (1 - s)
    low, high = odds / spread / (1 + odds / spread), odds * spread / (1 + odds * spread)
    exact = TAIL ** (1 / days)
    low = np.where(inside, low, np.where(lost == 0, exact, 0.0))
    high = np.where(inside, high, np.where(lost == 0, 1.0, 1 - exact))
    return low, high
