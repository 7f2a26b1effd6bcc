"""Centiles over chicks: how heavy the lighter and the heavier ones are at an age, and how well that is known.

Chicks are drawn, the same evenly spread ones for each draw of the typical chick and of how chicks differ; their
weights at an age give the centiles, and the draws how unsure these are. So centiles never cross, whatever the curve
and however its parameters hang together.
"""

from collections.abc import Sequence

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.integrate import Posterior
from analysis.growth.mixed.model import Model

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
ENDS = (0.025, 0.5, 0.975)
# Powers of two, as Sobol's sequence wants.
MANY, CHICKS, DRAWS = 4096, 128, 128
# Ln mass below this is a weight of zero; it keeps averages over draws finite.
LEAST = -700.0


def centiles_of(
    model: Model, posterior: Posterior, age_d: Array, shares: Sequence[float]
) -> tuple[Array, Array, Array]:
    """Centiles on the scale of the scatter, and the ends of their 95 % intervals, (ages, shares) each.

    The middle is that of very many chicks about what is most believed; the ends lie as far from it as those of the
    draws, with fewer chicks each, lie from theirs.
    """
    mean, between = posterior.population.mean[..., 0], posterior.between
    which = _resampled(posterior.weights)
    unsure = _root(posterior.population.covariance[..., which, 0])
    centre = mean[:, which] + np.einsum("ijd,jd->id", unsure, spread_evenly(DRAWS))
    each = _quantiles(model, centre, between[..., which], age_d, shares, CHICKS)
    believed = (mean @ posterior.weights)[:, None], (between @ posterior.weights)[..., None]
    middle = _quantiles(model, *believed, age_d, shares, MANY)[..., 0].T
    low, half, high = np.quantile(each, ENDS, axis=2).transpose(0, 2, 1)
    return middle, middle + np.minimum(low - half, 0.0), middle + np.maximum(high - half, 0.0)


def _quantiles(
    model: Model, centre: Array, between: Array, age_d: Array, shares: Sequence[float], chicks: int
) -> Array:
    """Quantiles over drawn chicks, (shares, ages, draws), for centres (3, draws) and covariances (3, 3, draws)."""
    theta = centre[..., None] + np.einsum("ijd,jc->idc", _root(between), spread_evenly(chicks))
    shape = theta.shape[1:]
    with np.errstate(over="ignore", invalid="ignore"):
        one = [model.value(np.full(theta[0].size, age), theta.reshape(3, -1))[0].reshape(shape) for age in age_d]
    value = np.maximum(np.nan_to_num(np.array(one), nan=LEAST, posinf=-LEAST, neginf=LEAST), LEAST)
    return np.asarray(np.quantile(value, shares, axis=2), float)


def spread_evenly(count: int) -> Array:
    """Normal deviates of three parameters spread evenly, (3, count), count a power of two: Sobol's sequence.

    Examples
    --------
    >>> z = spread_evenly(256)
    >>> bool(np.all(np.abs(z.mean(axis=1)) < 0.01)), bool(np.all(np.abs(z.std(axis=1) - 1) < 0.03))
    (True, True)
    """
    from scipy.special import ndtri
    from scipy.stats import qmc

    return np.asarray(ndtri(qmc.Sobol(3, rng=1).random(count).T), float)


def _resampled(weights: Array) -> np.ndarray:
    """Draws taken as often as their weight says, evenly."""
    at = (np.arange(DRAWS) + 0.5) / DRAWS
    return np.minimum(np.searchsorted(np.cumsum(weights), at), len(weights) - 1)


def _root(matrix: Array) -> Array:
    """A root of each covariance, (3, 3, draws)."""
    values, vectors = np.linalg.eigh(np.moveaxis(matrix, -1, 0))
    return np.moveaxis(vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :], 0, -1)
