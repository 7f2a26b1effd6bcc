"""Seasons in which each chick is lost on its own, and the most broods that one window of each touches."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

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
