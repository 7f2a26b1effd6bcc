"""Effects of pairs on something measured on each of their chicks, with the standard deviations integrated over.

    y_i = x_i'b + pair_p + chick_i + error_i,    pair ~ Normal(0, sd_pair²), chick ~ Normal(0, sd_chick²)

with a known variance of every error, weak normal priors on b and half-normal ones on the standard deviations. Given
these two all is normal; they are taken over a grid.
"""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array

# Points of the grid along each standard deviation: laid wide once, then again over what counts of it.
POINTS = 32
COUNTS = 1e-4
# The grid begins at this share of a prior's scale and ends at so many times it.
NARROWEST, WIDEST = 0.001, 6.0


@dataclass(frozen=True)
class Effects:
    """Normal distributions of all effects, one for each point of the grid.

    Parameters
    ----------
    weights : (points,), they sum to one
    sd : (points, 2), standard deviations between pairs and between chicks
    coefficient, coefficient_sd : (points, columns of x), b and its standard deviation
    pair, pair_sd : (points, pairs), the pairs' effects and their standard deviation
    """

    weights: Array
    sd: Array
    coefficient: Array
    coefficient_sd: Array
    pair: Array
    pair_sd: Array


def pair_effects(y: Array, variance: Array, x: Array, pair: np.ndarray, *, widths: Array, scales: Array) -> Effects:
    """Posterior of the pairs' effects.

    Parameters
    ----------
    y, variance : (chicks,), what was measured, and the variance of its error
    x : (chicks, columns), what it depends on beside the pair
    pair : (chicks,), the number of each chick's pair, from 0 without gaps
    widths : (columns,), standard deviations of the normal priors on b
    scales : (2,), scales of the half-normal priors on sd_pair and sd_chick

    Returns
    -------
    Effects : weights, sd, coefficient, coefficient_sd, pair, pair_sd

    Source: Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., §5.4 and 15.2 (from memory).

    Examples
    --------
    Ten chicks of each of two pairs, one tenth lighter and one tenth heavier:

    >>> pair = np.repeat([0, 1], 10)
    >>> y = np.where(pair == 0, -0.1, 0.1) + np.tile([-0.02, 0.02], 10)
    >>> one = np.ones((20, 1))
    >>> found = pair_effects(y, np.zeros(20), one, pair, widths=np.ones(1), scales=np.array([0.15, 0.25]))
    >>> (found.weights @ found.pair).round(2).tolist()
    [-0.1, 0.1]
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
    known, told = left[..., :-1, :-1] + np.diag(widths**-2.0), left[..., :-1, -1]
    inverse = np.linalg.inv(known)
    b = np.einsum("acij,acj->aci", inverse, told)
    log_det = np.log(size).sum(axis=1) + np.log1p(of_pair * total).sum(axis=-1) + np.linalg.slogdet(known)[1]
    grid = np.stack(np.meshgrid(*sds.T, indexing="ij"), axis=-1)
    # Half-normal densities, on a grid of even steps of ln sd.
    prior = np.sum(np.log(grid) - 0.5 * (grid / scales) ** 2, axis=-1)
    log_weight = prior - 0.5 * (log_det + left[..., -1, -1] - np.sum(told * b, axis=-1))
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
