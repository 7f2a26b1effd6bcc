"""Whether a rate goes up or down over the seasons, and by how much."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Normal priors on the logit: of the rate in the middle of the seasons, and of its change a season (practice, ours:
# a change of 1 takes 73 % to 50 %).
LEVEL_SD, CHANGE_SD = 1.5, 1.0
_POINTS, _WIDTH = 241, 5.0


@dataclass(frozen=True)
class Trend:
    """How a rate goes over the seasons.

    Parameters
    ----------
    p_falling : probability that it goes down
    change, low, high : rate of the last season less that of the first, on the line through all, with the 95 % interval
    """

    p_falling: float
    change: float
    low: float
    high: float


def trend(worked: ArrayLike, tried: ArrayLike, season: ArrayLike) -> Trend:
    """A line through the rates of a few seasons, on the logit.

    logit(p) = level + change · (season - middle); level ~ Normal(0, 1.5²), change ~ Normal(0, 1²), worked ~
    Binomial(tried, p). Both are integrated over a grid, so that 0 of 4 and 4 of 4 have an answer too.

    Parameters
    ----------
    worked, tried : (seasons,) counts
    season : (seasons,) years, or any even numbering; at least two that differ and were tried

    Returns
    -------
    Trend

    Raises
    ------
    ValueError : fewer than two seasons with anything tried; counts that cannot be

    Source: logistic regression with normal priors, Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., §16 (memory).

    Examples
    --------
    >>> found = trend([11, 8, 2], [12, 11, 10], [2024, 2025, 2026])
    >>> round(found.p_falling, 2), round(found.change, 1)
    (1.0, -0.6)
    """
    k, n, when = (np.asarray(values, float) for values in (worked, tried, season))
    k, n, when = (values[n > 0] for values in (k, n, when))
    if len(np.unique(when)) < 2:
        raise ValueError("a trend takes two seasons with anything tried")
    if not ((k >= 0) & (k <= n)).all():
        raise ValueError("counts need 0 <= worked <= tried")
    x = when - (when.min() + when.max()) / 2
    z = np.linspace(-_WIDTH, _WIDTH, _POINTS)
    level, change = np.meshgrid(LEVEL_SD * z, CHANGE_SD * z, indexing="ij")
    eta = level[..., None] + change[..., None] * x
    log_weight = -0.5 * (z[:, None] ** 2 + z**2) - np.sum(
        k * np.logaddexp(0, -eta) + (n - k) * np.logaddexp(0, eta), axis=-1
    )
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    span = (x.max() - x.min()) / 2
    by = _inv_logit(level + change * span) - _inv_logit(level - change * span)
    low, high = _quantiles(by.ravel(), weight.ravel())
    falling = weight[change < 0].sum() + 0.5 * weight[change == 0].sum()
    return Trend(float(falling), float((weight * by).sum()), low, high)


def _inv_logit(x: NDArray[np.float64]) -> NDArray[np.float64]:
    return 1 / (1 + np.exp(-x))


def _quantiles(values: NDArray[np.float64], weight: NDArray[np.float64]) -> tuple[float, float]:
    order = np.argsort(values)
    low, high = np.interp([0.025, 0.975], np.cumsum(weight[order]), values[order])
    return float(low), float(high)
