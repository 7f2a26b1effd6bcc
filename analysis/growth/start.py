"""First values for a fit, from the weighings themselves: nobody has to guess a chick's final weight."""

import numpy as np

from analysis.growth.curves import Array, Curve
from analysis.growth.side_by_side import side_by_side
from analysis.growth.weighings import Weighings

# Final weights tried, as multiples of the heaviest weighing; shapes tried where the shape is fitted.
FINALS = (1.01, 1.2, 2.0, 10.0)
SHAPES = (-0.3, 0.3, 1.0, 3.0)
# Weighings of a chick that are enough for a start, spread over all it has.
ENOUGH = 12
# The curve must be above zero at the first weighing: 1 + m e^z may not fall below this.
LEAST = 0.05
# A share of the final weight below this is no weighing of a chick, and its powers would overflow.
LEAST_LOG_SHARE = -30.0


def start_values(rows: Weighings, curve: Curve, *, additive: bool) -> Array:
    """First (ln A, ln K, ti[, m]) of each chick, (chicks, parameters).

    For a final weight A and a shape, z = ln(((W/A)^-m - 1)/m) is the straight line -K (t - ti) in age.
    Each of a few A (and shapes) is tried by one weighted regression, weights by the delta method,
    and the one with the least weighted scatter is taken. A dozen weighings spread over all a chick has are
    read for this: more make no better start.

    Examples
    --------
    >>> import pandas as pd
    >>> from analysis.growth.curves import CURVES
    >>> from analysis.growth.weighings import weighings_of
    >>> age_d = np.arange(0, 30, 3)
    >>> mass_g = CURVES["logistic"].mass(age_d, 90, 0.3, 10)
    >>> rows = weighings_of(pd.DataFrame({"chick": "a", "age_d": age_d, "mass_g": mass_g}))
    >>> theta = start_values(rows, CURVES["logistic"], additive=True)[0]
    >>> np.exp(theta[:2]).round(1).tolist(), round(float(theta[2]), 1)
    ([90.3, 0.3], 10.0)
    """
    theta, heaviest = np.empty((len(rows.sizes), 4)), np.log(rows.heaviest())
    taken = np.minimum(rows.sizes, ENOUGH)
    every = (rows.sizes - 1) / np.maximum(taken - 1, 1)
    for chicks, place, real in side_by_side(taken):
        index = rows.first[chicks] + np.rint(place * every[chicks]).astype(int)
        age_d, log_mass = rows.age_d[index], np.log(rows.mass_g[index])
        trust = np.exp(2 * log_mass) if additive else np.ones(index.shape)
        if real is not None:
            trust *= real
        theta[chicks] = _best_line(age_d, log_mass, trust, heaviest[chicks], curve)
    return above_zero(theta[:, : len(curve.parameters)], rows, curve)


def above_zero(theta: Array, rows: Weighings, curve: Curve) -> Array:
    """Move ti to an earlier age where the curve would still be at zero at the first weighing."""
    m = theta[:, 3] if curve.shape is None else np.full(len(theta), curve.shape)
    K = np.exp(theta[:, 1])
    z_first = K * (theta[:, 2] - rows.age_d[rows.first])
    z_most = np.where(m < 0, np.log((1 - LEAST) / np.where(m < 0, -m, 1.0)), np.inf)
    theta[:, 2] -= np.maximum(z_first - z_most, 0) / K
    return theta


def _best_line(age_d: Array, log_mass: Array, trust: Array, heaviest: Array, curve: Curve) -> Array:
    """Theta (chicks, 4) of the final weight and shape that leave the least scatter."""
    shapes = SHAPES if curve.shape is None else (curve.shape,)
    tried = [_line(age_d, log_mass, trust, heaviest + np.log(c), m, curve) for m in shapes for c in FINALS]
    best = np.argmin([scatter for _, scatter in tried], axis=0)
    return np.stack([theta for theta, _ in tried])[best, :, np.arange(len(best))]


def _line(age_d: Array, log_mass: Array, trust: Array, log_A: Array, m: float, curve: Curve) -> tuple[Array, Array]:
    """Theta (4, chicks) for one final weight and one shape, and the scatter it leaves."""
    z = curve.z_at(np.maximum(log_mass - log_A, LEAST_LOG_SHARE), m)
    x = np.exp(z)
    weight = trust * (x / (1 + m * x)) ** 2
    total = weight.sum(axis=0)
    mean_age, mean_z = _down(weight, age_d) / total, _down(weight, z) / total
    age, z = age_d - mean_age, z - mean_z
    weight_age = weight * age
    fall = -_down(weight_age, z) / _down(weight_age, age)
    K = np.maximum(fall, 0.1 / (age_d[-1] - age_d[0]))
    z += K * age
    return np.stack([log_A, np.log(K), mean_age + mean_z / K, np.full(len(K), m)]), _down(weight, z**2)


def _down(a: Array, b: Array) -> Array:
    """Sum of products down each column."""
    sums: Array = np.einsum("rn,rn->n", a, b)
    return sums
