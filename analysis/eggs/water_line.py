"""The line behind `water_loss`: y = alpha - beta · u - wander(u) + scatter, for all eggs at once. Arrays in and out.

y is mass over a first guess of the fresh mass, u the share of the time to pip, beta the loss at pip. Given the sizes of
scatter, wander and spread all is normal and in closed form; these three are integrated over a grid. The sums take the
wander of each egg for its own. Eggs in the same air wander alike, and may have been set on different days, so that is
put right by a wider interval where an egg leans on others (`pooled_with_group`). Without the wander, intervals of 95 %
held 83 to 88 % in air that varies by a tenth from day to day (tests/calibrate_water.py, 60 seasons).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Loss at pip of a place and kind: Ar & Rahn 1980, Am. Zool. (abstract), 0.150 ± 0.025 over 81 species; twice as wide.
TYPICAL, TYPICAL_SD = 0.15, 0.05
# Half-normal priors (practice, ours): scatter of a weighing, as a share of the mass, beyond that of the scale; how a
# day's loss wanders about the egg's own, as a share of it; spread of the eggs of a group about their mean at pip.
SCATTER, WANDER, SPREAD = 0.003, 0.2, 0.03
WANDER_LASTS_D = 2.0  # days over which damp or dry air lasts (practice)
HALF_STEP = 0.5  # scatter of a scale in its own steps, rounding included (practice)
_SCATTERS, _WANDERS = np.geomspace(0.0003, 0.02, 8), np.geomspace(0.02, 0.8, 10)
_SPREADS = np.geomspace(0.004, 0.08, 7)
_LEAST_WEIGHT = 1e-4
# pairs of (one, x = -u, -wander ahead, y) whose sums are taken
_LEFT, _RIGHT = [0, 0, 1, 0, 1, 3, 2, 2, 2, 2], [0, 1, 1, 3, 3, 3, 0, 1, 3, 2]
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Weighings:
    """Weighings laid out one row an egg: (eggs,), and (eggs, weighings) of `there`, `u` and `y`, 0 where there is none.

    pip_d : day of pip; group : number of its group; there : whether there is a weighing
    u, y : day over day of pip; mass over the guess of the fresh mass
    guess_g, guess_loss : first guess of the fresh mass, and of the loss at pip as a share; last_g : the last mass
    step : of the scale, as a share of the fresh mass
    """

    pip_d: Array
    group: NDArray[np.intp]
    there: NDArray[np.bool_]
    u: Array
    y: Array
    guess_g: Array
    guess_loss: Array
    last_g: Array
    step: Array


def predicted_loss(eggs: Weighings) -> Array:
    """What the line says of each egg, (eggs, 6).

    Fresh mass, share lost at the last weighing, share a day, share at pip and its 95 % interval. Source: the normal
    hierarchical model with its scales on a grid, Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., §5.4 (memory).
    """
    scatter, wander = (v.ravel() for v in np.meshgrid(_SCATTERS, _WANDERS, indexing="ij"))
    evidence = own_evidence(eggs, scatter**2, (TYPICAL * wander) ** 2)
    cells = evidence.log_weight.sum(axis=0) + _half_normal(scatter, SCATTER) + _half_normal(wander, WANDER)
    member = (eggs.group == np.unique(eggs.group)[:, None]).astype(float)
    leaning = [pooled_with_group(evidence, member, spread**2) for spread in _SPREADS]
    log_weight = np.array([one[0] for one in leaning]) + cells + _half_normal(_SPREADS, SPREAD)[:, None]
    weight = np.exp(log_weight - log_weight.max())
    spread, cell = np.nonzero(weight > _LEAST_WEIGHT)
    w = weight[spread, cell] / weight[spread, cell].sum()
    beta, variance = (np.array([one[i] for one in leaning])[spread, :, cell] for i in (1, 2))
    loss = evidence.at_typical.T[cell] + evidence.by_beta.T[cell] * beta
    alpha = w @ (evidence.alpha.T[cell] + evidence.alpha_by.T[cell] * beta)
    fresh_g, a_day = alpha * eggs.guess_g, (TYPICAL + w @ beta) / alpha / eggs.pip_d
    low, high = (_quantile(p, w, loss, np.sqrt(variance)) for p in (0.025, 0.975))
    return np.column_stack([fresh_g, 1 - eggs.last_g / fresh_g, a_day, w @ loss, np.maximum(low, 0), high])


@dataclass(frozen=True)
class Evidence:
    """By egg and cell (scatter, wander), alpha integrated out: what an egg's own weighings say, b = beta - typical.

    log_weight : of the cell, as far as b plays no part
    info, pull : of b, as in exp(pull · b - info · b² / 2)
    at_typical, by_beta, own : loss at pip = at_typical + by_beta · b, with variance own
    alpha, alpha_by : alpha = alpha + alpha_by · b
    shared : variance of b's estimate that comes of the wander
    """

    log_weight: Array
    info: Array
    pull: Array
    at_typical: Array
    by_beta: Array
    own: Array
    alpha: Array
    alpha_by: Array
    shared: Array


def own_evidence(eggs: Weighings, scatter2: Array, wander2: Array) -> Evidence:
    """Return what each egg's own weighings say, by cell; scatter2, wander2 : (cells,) variances of the two."""
    lasts, guess = WANDER_LASTS_D / eggs.pip_d, eggs.guess_loss[:, None]
    white = scatter2 + (HALF_STEP * eggs.step[:, None]) ** 2
    turned, values = _turned(eggs, lasts)
    variance = white[:, None] + wander2 * values[..., None]
    products = np.swapaxes(turned[..., _LEFT] * turned[..., _RIGHT], 1, 2)
    e11, e1x, exx, e1y, exy, eyy, em1, emx, emy, emm = np.moveaxis(products @ (1 / variance), 1, 0)
    by_alpha = wander2 * em1 + guess
    alpha, alpha_by = e1y / e11, -e1x / e11
    log_det = np.log(variance).sum(axis=1) - np.sum(~eggs.there, axis=1)[:, None] * np.log(white)
    info = np.maximum(exx + e1x * alpha_by, 0)
    slope = turned[..., 1:2] + turned[..., :1] * alpha_by[:, None]
    wandered = np.sum(slope**2 * (variance - white[:, None]) / variance**2, axis=1)
    return Evidence(
        log_weight=-0.5 * (log_det + np.log(e11) + eyy - e1y * alpha),
        info=info,
        pull=exy + e1y * alpha_by,
        at_typical=TYPICAL + guess + wander2 * emy - by_alpha * alpha,
        by_beta=1 - wander2 * emx - by_alpha * alpha_by,
        own=wander2 * (wander_covariance(1.0, 1.0, lasts[:, None]) - wander2 * emm) + by_alpha**2 / e11,
        alpha=alpha,
        alpha_by=alpha_by,
        shared=wandered / np.maximum(info, 1e-12) ** 2,
    )


def _turned(eggs: Weighings, lasts: Array) -> tuple[Array, Array]:
    """One, x, the wander ahead and y in the directions in which each egg's wander is independent, and its variances.

    Scatter is alike in all directions, so one turn serves every cell of the grid.
    """
    pairs = eggs.there[:, :, None] & eggs.there[:, None, :]
    values, U = np.linalg.eigh(pairs * wander_covariance(eggs.u[:, :, None], eggs.u[:, None, :], lasts[:, None, None]))
    ahead = eggs.there * wander_covariance(eggs.u, 1.0, lasts[:, None])
    less_typical = eggs.there * (eggs.y + TYPICAL * eggs.u)
    known = np.stack([eggs.there.astype(float), -eggs.u, -ahead, less_typical], axis=-1)
    return np.swapaxes(U, 1, 2) @ known, np.maximum(values, 0)


def wander_covariance(u: ArrayLike, v: ArrayLike, lasts: Array) -> Array:
    """Return the covariance of what has wandered by u and by v: the rate's integrated over both times.

    The rate has variance 1 and correlation e^(-|u - v| / lasts).
    """
    u, v = np.asarray(u, float), np.asarray(v, float)
    ends = np.exp(-u / lasts) + np.exp(-v / lasts) - np.exp(-np.abs(u - v) / lasts) - 1
    covariance: Array = 2 * lasts * np.minimum(u, v) + lasts**2 * ends
    return covariance


def pooled_with_group(evidence: Evidence, member: Array, spread2: float) -> tuple[Array, Array, Array]:
    """Return b of each egg leaning on its group: log weight by cell; b and the variance of the loss by egg and cell.

    member : (groups, eggs) 1 where the egg is of the group
    """
    less = 1 / (1 + evidence.info * spread2)
    info = evidence.info * less
    variance = 1 / (TYPICAL_SD**-2 + member @ info)
    pulled = member @ (evidence.pull * less)
    log_weight = np.sum(np.log(less) + evidence.pull**2 * spread2 * less, axis=0)
    log_weight += np.sum(pulled**2 * variance + np.log(variance / TYPICAL_SD**2), axis=0)
    b = (member.T @ (pulled * variance) + spread2 * evidence.pull) * less
    # The same air bends the others' slopes the same way: their mean is no surer for their number.
    of_group = member.T @ variance
    others = (member.T @ (member @ info) - info) * of_group
    alike = evidence.shared * others * (others + 2 * spread2 * evidence.info)
    own = less * (spread2 + less * (of_group + alike))
    return 0.5 * log_weight, b, evidence.by_beta**2 * own + evidence.own


def _half_normal(values: Array, sd: float) -> Array:
    """Log density on a grid of even steps of the logarithm."""
    log_density: Array = np.log(values) - 0.5 * (values / sd) ** 2
    return log_density


def _quantile(p: float, weight: Array, mean: Array, sd: Array) -> Array:
    """Quantile of each egg's mixture of normals, by halving; mean, sd : (cells, eggs)."""
    from scipy.special import ndtr

    low, high = (mean - 6 * sd).min(axis=0), (mean + 6 * sd).max(axis=0)
    for _ in range(30):
        middle = (low + high) / 2
        under = weight @ ndtr((middle - mean) / sd) < p
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return np.asarray((low + high) / 2)
