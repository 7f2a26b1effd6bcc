"""Quantiles of a weighted mixture of normal distributions."""

from collections.abc import Sequence

import numpy as np

from analysis.growth.curves import Array

HALVINGS = 24
# Parts of the mixture that weigh less than this in all are left out.
TOO_LIGHT = 1e-4


def quantiles(weights: Array, mean: Array, sd: Array, shares: Sequence[float]) -> list[Array]:
    """Values below which these shares of a mixture lie, by halving.

    Parameters
    ----------
    weights : (parts,), they sum to one
    mean, sd : (parts, units), of the normal distributions
    shares : such as 0.025 and 0.975

    Returns
    -------
    (units,) for each share, right to a millionth of the distribution's width.

    Examples
    --------
    >>> low, high = quantiles(np.ones(1), np.array([[10.0]]), np.array([[2.0]]), [0.025, 0.975])
    >>> low.round(3).tolist(), high.round(3).tolist()
    ([6.08], [13.92])
    """
    from scipy.special import ndtr

    heaviest = np.argsort(weights)[::-1]
    kept = heaviest[: 1 + np.searchsorted(np.cumsum(weights[heaviest]), 1 - TOO_LIGHT)]
    weights, mean, sd = weights[kept] / weights[kept].sum(), mean[kept], np.maximum(sd[kept], 1e-300)
    found = []
    for share in shares:
        low, high = np.min(mean - 6 * sd, axis=0), np.max(mean + 6 * sd, axis=0)
        with np.errstate(invalid="ignore", over="ignore"):
            for _ in range(HALVINGS):
                middle = (low + high) / 2
                below = weights @ ndtr((middle - mean) / sd) < share
                low, high = np.where(below, middle, low), np.where(below, high, middle)
        found.append((low + high) / 2)
    return found
