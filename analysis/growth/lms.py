"""Tables of weights given as L, M, S: how far a weight lies from the middle of such a table, and back.

M is the middle weight at an age, S its spread as a share, L the power that makes the weights normal.
"""

import numpy as np
from numpy.typing import ArrayLike

from analysis.growth.curves import Array

# Stands in for L = 0: the formulas below give ln (mass / M) / S there to the last digit, without a branch of their own.
NO_POWER = 1e-90


def z_score(mass: ArrayLike, L: ArrayLike, M: ArrayLike, S: ArrayLike) -> Array:
    """How many standard deviations a weight lies above the middle of a table; below it, negative.

        z = ((mass / M)^L - 1) / (L S);   ln(mass / M) / S where L = 0

    Parameters
    ----------
    mass : in the unit of M; NaN where it is not above zero
    L, M, S : power, middle weight and spread at the age of the weighing; all four broadcast

    Returns
    -------
    z, of the shape they broadcast to.

    Source: Cole & Green 1992, *Stat. Med.* 11:1305 (from memory); CDC growth charts, data file page, whose worked
    values these are.

    Examples
    --------
    >>> float(z_score(9.7, L=-0.1600954, M=9.476500305, S=0.11218624).round(3))
    0.207
    """
    mass, L, M, S = (np.asarray(values, float) for values in (mass, L, M, S))
    L = np.where(L == 0, NO_POWER, L)
    log_ratio = np.log(np.where(mass > 0, mass, np.nan) / M)
    return np.asarray(np.expm1(L * log_ratio) / (L * S))


def centile(z: ArrayLike, L: ArrayLike, M: ArrayLike, S: ArrayLike) -> Array:
    """The weight that lies z standard deviations above the middle of a table.

        mass = M (1 + L S z)^(1/L);   M e^(S z) where L = 0

    Where no weight lies so far out, it is 0 (L above zero) or infinite (below).

    Parameters
    ----------
    z : standard deviations; -1.645 is the 5th centile, 0 the middle
    L, M, S : as in `z_score`; all four broadcast

    Returns
    -------
    Weight in the unit of M, of the shape they broadcast to.

    Source: as `z_score`.

    Examples
    --------
    >>> float(centile(-1.645, L=-0.1600954, M=9.476500305, S=0.11218624).round(2))
    7.9
    """
    z, L, M, S = (np.asarray(values, float) for values in (z, L, M, S))
    L = np.where(L == 0, NO_POWER, L)
    with np.errstate(divide="ignore"):
        return np.asarray(M * np.exp(np.log1p(np.maximum(L * S * z, -1.0)) / L))
