"""First values for a fit, from the weighings themselves: nobody has to guess a chick's final weight."""

import numpy as np

from analysis.growth.curves import Array, Curve
from analysis.growth.weighings import Weighings

# Final weights tried, as multiples of the heaviest weighing; shapes tried where the shape is fitted.
FINALS = (1.03, 1.2, 2.0, 10.0)
SHAPES = (-0.3, 0.3, 1.0, 3.0)
# The curve must be above zero at the first weighing: 1 + m e^z may not fall below this.
LEAST = 0.05
# A share of the final weight below this is no weighing of a chick, and its powers would overflow.
LEAST_LOG_SHARE = -30.0


def start_values(rows: Weighings, curve: Curve, *, additive: bool) -> Array:
    """First (ln A, ln K, ti[, m]) of each chick, (chicks, parameters).

    For a final weight A and a shape, z = ln(((W/A)^-m - 1)/m) is the straight line -K (t - ti) in age.
    Each of a few A (and shapes) is tried by one weighted regression, weights by the delta method,
    and the one with the least weighted scatter is taken.

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
    ([92.1, 0.3], 10.3)
    """
    shapes = SHAPES if curve.shape is None else (curve.shape,)
    heaviest = np.log(rows.heaviest())
    tried = [_line(rows, curve, heaviest + np.log(c), m, additive) for m in shapes for c in FINALS]
    best = np.argmin([scatter for _, scatter in tried], axis=0)
    theta = np.stack([theta for theta, _ in tried])[best, np.arange(len(best))]
    return above_zero(theta[:, : len(curve.parameters)], rows, curve)


def above_zero(theta: Array, rows: Weighings, curve: Curve) -> Array:
    """Move ti to an earlier age where the curve would still be at zero at the first weighing."""
    m = theta[:, 3] if curve.shape is None else np.full(len(theta), curve.shape)
    K = np.exp(theta[:, 1])
    z_first = K * (theta[:, 2] - rows.age_d[rows.first])
    z_most = np.where(m < 0, np.log((1 - LEAST) / np.where(m < 0, -m, 1.0)), np.inf)
    theta[:, 2] -= np.maximum(z_first - z_most, 0) / K
    return theta


def _line(rows: Weighings, curve: Curve, log_A: Array, m: float, additive: bool) -> tuple[Array, Array]:
    """Theta (chicks, 4) for one final weight and one shape, and the scatter it leaves."""
    log_share = np.maximum(np.log(rows.mass_g) - rows.each(log_A), LEAST_LOG_SHARE)
    z = curve.z_at(log_share, m)
    x = np.exp(z)
    weight = (x / (1 + m * x)) ** 2
    if additive:
        weight *= rows.mass_g**2
    total = rows.total(weight)
    mean_age, mean_z = rows.total(weight * rows.age_d) / total, rows.total(weight * z) / total
    age, z = rows.age_d - rows.each(mean_age), z - rows.each(mean_z)
    fall = -rows.total(weight * age * z) / rows.total(weight * age**2)
    span = rows.age_d[rows.last] - rows.age_d[rows.first]
    K = np.maximum(fall, 0.1 / span)
    scatter = rows.total(weight * (z + rows.each(K) * age) ** 2)
    return np.column_stack([log_A, np.log(K), mean_age + mean_z / K, np.full(len(K), m)]), scatter
