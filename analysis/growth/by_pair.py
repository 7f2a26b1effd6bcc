"""Pairs whose chicks grow slow: how heavy the chicks of each pair are, beside the typical pair's.

Each chick's own weighings say how heavy it was on the day of fastest growth (`MixedFit.own`); what chicks of a pair
have in common there is the pair's effect, with their place in the brood and the season allowed for.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.growth.as_arrays import pair_of_each
from analysis.growth.choice import choose_curve
from analysis.growth.curves import Array
from analysis.growth.mixed.integrate import PRIORS, quantiles
from analysis.growth.trade_rule import up_to_peak
from analysis.names import name_key

# Points of the grid along each standard deviation: laid wide once, then again over what counts of it.
POINTS = 32
COUNTS = 1e-4
# The grid begins at this share of a prior's scale and ends at so many times it.
NARROWEST, WIDEST = 0.001, 6.0
ENOUGH = 6  # chicks of a pair: with fewer, never a reason for advice
RANDOM = {"chick": ("A", "K", "ti")}
# Widths of the weak priors, on ln mass: of the level, of one place in the brood, of a season (practice, ours).
LEVEL, PLACE, SEASON = 1.0, 0.2, 0.15
# Half-normal, between pairs and between chicks: those of the final weight in the growth model.
SCALES = np.array([PRIORS["pair"][0], PRIORS["chick"][0]])
SHARES = ("mass_share", "low", "high")
COLUMNS = ("pair", "chicks", *SHARES, "p_lighter", "enough", "told", "sentence")
LEVELS = pd.Index(["pair", "chick"], name="level")
QUANTILES = (0.5, 0.025, 0.975)


@dataclass(frozen=True, eq=False)
class PairGrowth:
    """How heavy the chicks of each pair are, beside the typical pair's.

    The table has a row a pair (that laid), by name: chicks, how many of its chicks were weighed; mass_share, low, high,
    the weight of its chicks as a share of the typical pair's on the day of fastest growth, and the 95 % interval (0.93
    is 7 % lighter); p_lighter, the probability that they are lighter at all; enough, whether there are six chicks or
    more (with fewer, never a reason for advice); told, sentence, findings that say so, without and with its name.
    """

    table: pd.DataFrame
    age_d: float  # the day of fastest growth of the typical chick; NaN where there is no answer
    place: pd.Series  # mass_share, low, high of a chick one place later in its brood; NaN where no places differ
    sd: pd.DataFrame  # rows "pair" and "chick", columns sd, low, high: how much they differ, about as a share
    why: Words  # why there is no answer, a finding; blank where there is one


@dataclass(frozen=True)
class Effects:
    """Normal distributions of all effects, one for each point of the grid."""

    weights: Array  # (points,), they sum to one
    sd: Array  # (points, 2), standard deviations between pairs and between chicks
    coefficient: Array  # (points, columns of x), b
    coefficient_sd: Array  # its standard deviation
    pair: Array  # (points, pairs)
    pair_sd: Array  # its standard deviation


def pair_growth(frame: pd.DataFrame) -> PairGrowth:
    """Which pairs' chicks are light or heavy when they grow fastest.

    The curve is chosen and fitted up to each chick's peak, without pairs. On the day of fastest growth of the
    typical chick (ti), for chick i of pair p:

        ln mass_i = level + place in brood · (order_i - 1) + season + pair_p + chick_i + error_i

    where the error is that of the chick's own weighings, and pairs and chicks scatter normally; their standard
    deviations are integrated over weak half-normal priors, so that the intervals know how unsure they are. A pair with
    few chicks is drawn towards the others. Whatever the chicks of one brood share, such as a cold week, counts as their
    pair's while the pair has no other brood.

    frame : chick (any name), pair (the pair that laid; a chick without one helps with the curve alone), age_d
        (days), mass_g (gram), one row a weighing, in any order; may carry hatch_order (1 = first of its brood; where
        it is missing the middle place is taken) and season. ValueError as from `weighings_of`; a chick of two pairs
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

    own : by chick: log_mass, at age_d, and its variance, as from `MixedFit.own`; chicks without count for nothing
    age_d : the day of fastest growth of the typical chick
    """
    chicks = frame[frame["pair"].notna()].reindex(columns=["chick", "pair", "hatch_order", "season"])
    pair_of_each(chicks)
    chicks = chicks[chicks["chick"].isin(own.index)].groupby("chick", sort=True).first()
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
    rows = []
    for sd in effects.sd.T:
        order = np.argsort(sd)
        rows.append(np.interp(QUANTILES, np.cumsum(effects.weights[order]), sd[order]))
    sds = pd.DataFrame(rows, index=LEVELS, columns=["sd", "low", "high"])
    return PairGrowth(_table(names, number, effects), age_d, place, sds, "")


def _none(why: Words) -> PairGrowth:
    table = pd.DataFrame(columns=list(COLUMNS))
    sd = pd.DataFrame(np.nan, index=LEVELS, columns=["sd", "low", "high"])
    return PairGrowth(table, np.nan, pd.Series(np.nan, index=list(SHARES)), sd, why)


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
    table["told"] = [_away_from_typical(row) for row in table.itertuples()]
    named = zip(table["pair"].astype(str), table["told"], strict=True)
    table["sentence"] = [found("growth.pair-named", pair, pair=pair, told=told) for pair, told in named]
    return table.iloc[sorted(range(len(names)), key=lambda i: name_key(str(names[i])))].reset_index(drop=True)


def _away_from_typical(row: Any) -> Finding:
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


def pair_effects(y: Array, variance: Array, x: Array, pair: np.ndarray, *, widths: Array, scales: Array) -> Effects:
    """Posterior of the pairs' effects.

    Of each chick y, what was measured, the variance of its error, x of (chicks, columns), what it depends on beside the
    pair, and the number of its pair, from 0 without gaps. widths : (columns,), standard deviations of the normal priors
    on b; scales : (2,), of the half-normal priors on sd_pair and sd_chick.

    Source: Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., §5.4 and 15.2 (from memory).
    """
    limits = np.log(np.outer(scales, [NARROWEST, WIDEST]))
    for _ in range(2):
        axes = np.linspace(limits[:, 0], limits[:, 1], POINTS)
        found = _given(y, variance, x, pair, widths, np.exp(axes), scales)
        table = found.weights.reshape(POINTS, POINTS)
        limits = np.array([_counting(axes[:, i], table.sum(axis=1 - i)) for i in (0, 1)])
    return found


def _counting(axis: Array, weights: Array) -> Array:
    """The part of an axis that counts, a step beyond it on either side."""
    counts = np.flatnonzero(weights > COUNTS * weights.max())
    return axis[[max(counts[0] - 1, 0), min(counts[-1] + 1, len(axis) - 1)]]


def _given(y: Array, variance: Array, x: Array, pair: np.ndarray, widths: Array, sds: Array, scales: Array) -> Effects:
    """All effects at every point of the grid of `sds` (points, 2): pairs along the first axis, chicks the second."""
    of_pair, size = sds[:, 0, None, None] ** 2, sds[:, 1, None] ** 2 + variance
    total, by_pair, left = _sums(1 / size, np.column_stack([x, y]), pair)
    # (pair sds, chick sds, pairs): variance of a pair's effect given all else.
    spread = of_pair / (1 + of_pair * total)
    left = left - np.einsum("acp,cpi,cpj->acij", spread, by_pair, by_pair)
    precision, by_y = left[..., :-1, :-1] + np.diag(widths**-2.0), left[..., :-1, -1]
    inverse = np.linalg.inv(precision)
    b = np.einsum("acij,acj->aci", inverse, by_y)
    log_det = np.log(size).sum(axis=1) + np.log1p(of_pair * total).sum(axis=-1) + np.linalg.slogdet(precision)[1]
    grid = np.stack(np.meshgrid(*sds.T, indexing="ij"), axis=-1)
    # Half-normal densities, on a grid of even steps of ln sd.
    prior = np.sum(np.log(grid) - 0.5 * (grid / scales) ** 2, axis=-1)
    log_weight = prior - 0.5 * (log_det + left[..., -1, -1] - np.sum(by_y * b, axis=-1))
    weights = np.exp(log_weight - log_weight.max())
    of_x, of_y = by_pair[..., :-1], by_pair[..., -1]
    effect = spread * (of_y - np.einsum("cpi,aci->acp", of_x, b))
    unsure = spread + spread**2 * np.einsum("cpi,acij,cpj->acp", of_x, inverse, of_x)
    b_sd = np.sqrt(np.diagonal(inverse, axis1=-2, axis2=-1))
    points = (grid, b, b_sd, effect, np.sqrt(unsure))
    return Effects((weights / weights.sum()).ravel(), *(values.reshape(weights.size, -1) for values in points))


def _sums(w: Array, z: Array, pair: np.ndarray) -> tuple[Array, Array, Array]:
    """Weights and weighted z summed by pair, and weighted products of z over all, for each row of weights."""
    order = np.argsort(pair, kind="stable")
    first = np.flatnonzero(np.diff(pair[order], prepend=-1))
    total = np.add.reduceat(w[:, order], first, axis=1)
    by_pair = np.add.reduceat(w[:, order, None] * z[order], first, axis=1)
    return total, by_pair, np.einsum("cn,ni,nj->cij", w, z, z)
