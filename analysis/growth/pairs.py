"""Pairs whose chicks grow slow: how heavy the chicks of each pair are, beside the typical pair's.

Each chick's own weighings say how heavy it was on the day of fastest growth (`MixedFit.own`); what chicks of a pair
have in common there is the pair's effect, with their place in the brood and the season allowed for.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.growth.choice import choose_curve
from analysis.growth.curves import Array
from analysis.growth.mixed.mixture import quantiles
from analysis.growth.mixed.priors import PRIORS
from analysis.growth.pair_effects import Effects, pair_effects
from analysis.growth.peak import up_to_peak
from analysis.names import name_key

ENOUGH = 6  # chicks of a pair: with fewer, never a reason for advice
RANDOM = {"chick": ("A", "K", "ti")}
# Widths of the weak priors, on ln mass: of the level, of one place in the brood, of a season (practice, ours).
LEVEL, PLACE, SEASON = 1.0, 0.2, 0.15
# Half-normal, between pairs and between chicks: those of the final weight in the growth model.
SCALES = np.array([PRIORS["pair"][0], PRIORS["chick"][0]])
SHARES = ("mass_share", "low", "high")
COLUMNS = ("pair", "chicks", *SHARES, "p_lighter", "enough", "told", "sentence")
QUANTILES = (0.5, 0.025, 0.975)


@dataclass(frozen=True, eq=False)
class PairGrowth:
    """How heavy the chicks of each pair are, beside the typical pair's.

    Parameters
    ----------
    table : a row a pair, by name:
        pair : the pair that laid
        chicks : how many of its chicks were weighed
        mass_share, low, high : weight of its chicks as a share of the typical pair's on the day of fastest growth,
            and the 95 % interval; 0.93 is 7 % lighter
        p_lighter : probability that they are lighter at all
        enough : whether there are six chicks or more; with fewer, never a reason for advice
        told, sentence : findings that say so, without and with the pair's name
    age_d : the day of fastest growth of the typical chick; NaN where there is no answer
    place : mass_share, low, high of a chick one place later in its brood; NaN where no places differ
    sd : rows "pair" and "chick", columns sd, low, high: how much pairs differ, and chicks of a pair, about as a share
    why : why there is no answer, a finding; blank where there is one
    """

    table: pd.DataFrame
    age_d: float
    place: pd.Series
    sd: pd.DataFrame
    why: Words


def pair_growth(frame: pd.DataFrame) -> PairGrowth:
    """Which pairs' chicks are light or heavy when they grow fastest.

    The curve is chosen and fitted up to each chick's peak, without pairs. On the day of fastest growth of the
    typical chick (ti), for chick i of pair p:

        ln mass_i = level + place in brood · (order_i - 1) + season + pair_p + chick_i + error_i

    where the error is that of the chick's own weighings, and pairs and chicks scatter normally; their standard
    deviations are integrated over weak half-normal priors, so that the intervals know how unsure they are. A pair
    with few chicks is drawn towards the others. Whatever the chicks of one brood share, such as a cold week, counts
    as their pair's while the pair has no other brood.

    Parameters
    ----------
    frame : chick (any name), pair (the pair that laid; a chick without one helps with the curve alone), age_d
        (days), mass_g (gram), one row a weighing, in any order; may carry hatch_order (1 = first of its brood; where
        it is missing the middle place is taken) and season

    Returns
    -------
    PairGrowth : table, age_d, place, sd, why

    Raises
    ------
    ValueError : chick, pair, age_d or mass_g is missing; an age that is no finite number, a weight not above
        0; a chick of two pairs

    Examples
    --------
    >>> from textwrap import fill
    >>> from analysis.growth.curves import CURVES
    >>> from analysis.say import in_words
    >>> chicks, age_d = np.arange(24), np.arange(1, 31)
    >>> A_g = np.where(chicks % 4 == 0, 76, 90) * np.exp(0.03 * np.sin(chicks))
    >>> mass_g = CURVES["logistic"].mass(age_d, A_g[:, None], 0.3, 10)
    >>> mass_g = mass_g * np.exp(0.03 * np.random.default_rng(1).standard_normal(mass_g.shape))
    >>> named = {"chick": np.repeat(chicks, 30), "pair": np.repeat([f"P{i % 4}" for i in chicks], 30)}
    >>> growth = pair_growth(pd.DataFrame({**named, "age_d": np.tile(age_d, 24), "mass_g": mass_g.ravel()}))
    >>> growth.table["mass_share"].round(2).tolist()
    [0.89, 1.04, 1.04, 1.04]
    >>> print(fill(in_words(growth.table.loc[0, "sentence"]), 112))
    P0, 6 chicks: beside the typical pair's, its chicks are about 11 % lighter when they grow fastest (95 % interval
    from 22 % lighter to as heavy).
    """
    if "pair" not in frame:
        raise ValueError("Growth of pairs needs the column pair.")
    rising = up_to_peak(frame.reset_index(drop=True))[0]
    choice = choose_curve(rising, RANDOM, correlated=True)
    if choice.why or choice.fit is None:
        return _none(choice.why)
    age_d = float(choice.fit.population["ti_d"])
    return pairs_of(rising, choice.fit.own(age_d), age_d)


def pairs_of(frame: pd.DataFrame, own: pd.DataFrame, age_d: float) -> PairGrowth:
    """`pair_growth` where it is known already what each chick's own weighings say.

    Parameters
    ----------
    frame : as in `pair_growth`
    own : by chick: log_mass, at age_d, and its variance, as from `MixedFit.own`; chicks without count for nothing
    age_d : the day of fastest growth of the typical chick
    """
    chicks = _chicks(frame)
    chicks = chicks[chicks.index.isin(own.index)]
    number, names = pd.factorize(chicks["pair"])
    if len(names) < 2:
        return _none(found("growth.one-pair") if len(names) else found("growth.no-pair"))
    own = own.reindex(chicks.index)
    x, widths = _design(chicks)
    y = own["log_mass"].to_numpy(float)
    effects = pair_effects(y - y.mean(), own["variance"].to_numpy(float), x, number, widths=widths, scales=SCALES)
    place = _shares(effects.weights, effects.coefficient[:, 1:2], effects.coefficient_sd[:, 1:2]).iloc[0]
    if np.ptp(x[:, 1]) == 0:
        place[:] = np.nan
    return PairGrowth(_table(names, number, effects), age_d, place, _sds(effects), "")


def _none(why: Words) -> PairGrowth:
    table = pd.DataFrame(columns=list(COLUMNS))
    sd = pd.DataFrame(np.nan, index=pd.Index(["pair", "chick"], name="level"), columns=["sd", "low", "high"])
    return PairGrowth(table, np.nan, pd.Series(np.nan, index=list(SHARES)), sd, why)


def _chicks(frame: pd.DataFrame) -> pd.DataFrame:
    """A row a chick whose pair is known: pair, and hatch_order and season (missing where not given)."""
    known = frame[frame["pair"].notna()].reindex(columns=["chick", "pair", "hatch_order", "season"])
    several = known[["chick", "pair"]].drop_duplicates()["chick"]
    if several.duplicated().any():
        raise ValueError(f"A chick has one pair that laid it; {several[several.duplicated()].iloc[0]} has several.")
    return known.groupby("chick", sort=True).first()


def _design(chicks: pd.DataFrame) -> tuple[Array, Array]:
    """Columns of the model beside pairs, level and place first, and the widths of their priors."""
    place = pd.to_numeric(chicks["hatch_order"]).to_numpy(float) - 1
    middle = np.nanmean(place) if np.isfinite(place).any() else 0.0
    columns, widths = [np.ones(len(place)), np.where(np.isfinite(place), place, middle)], [LEVEL, PLACE]
    seasons = pd.get_dummies(chicks["season"]).to_numpy(float)
    if seasons.shape[1] > 1:
        columns, widths = [*columns, *seasons.T], widths + [SEASON] * seasons.shape[1]
    return np.column_stack(columns), np.array(widths)


def _shares(weights: Array, mean: Array, sd: Array) -> pd.DataFrame:
    """Middle and ends of effects on ln mass, as shares of mass."""
    ends = quantiles(weights, mean, sd, QUANTILES)
    return pd.DataFrame(dict(zip(SHARES, np.exp(ends), strict=True)))


def _table(names: pd.Index, number: np.ndarray, effects: Effects) -> pd.DataFrame:
    from scipy.special import ndtr

    table = _shares(effects.weights, effects.pair, effects.pair_sd)
    table.insert(0, "pair", np.asarray(names, object))
    table.insert(1, "chicks", np.bincount(number))
    table["p_lighter"] = effects.weights @ ndtr(-effects.pair / effects.pair_sd)
    table["enough"] = table["chicks"] >= ENOUGH
    table["told"] = [_told(row) for row in table.itertuples()]
    table["sentence"] = [
        found("growth.pair-named", pair, pair=pair, told=told)
        for pair, told in zip(table["pair"].astype(str), table["told"], strict=True)
    ]
    return table.iloc[sorted(range(len(names)), key=lambda i: name_key(str(names[i])))].reset_index(drop=True)


def _sds(effects: Effects) -> pd.DataFrame:
    rows = []
    for sd in effects.sd.T:
        order = np.argsort(sd)
        rows.append(np.interp(QUANTILES, np.cumsum(effects.weights[order]), sd[order]))
    return pd.DataFrame(rows, index=pd.Index(["pair", "chick"], name="level"), columns=["sd", "low", "high"])


def _told(row: Any) -> Finding:
    """What is said of a pair's chicks, without its name."""
    pair, chicks, low, high = str(row.pair), int(row.chicks), _away(row.low), _away(row.high)
    if not row.enough:
        return found("growth.pair-few", pair, chicks=chicks, low=low, high=high)
    return found("growth.pair-about", pair, chicks=chicks, typical=_away(row.mass_share), low=low, high=high)


def _away(share: float) -> Finding:
    """How far a share of the typical pair's weight is from it."""
    away = float(abs(share - 1))
    if round(100 * away) == 0:
        return found("growth.as-heavy", share=away)
    return found("growth.lighter" if share < 1 else "growth.heavier", share=away)
