"""The true growth of a chick: one family of curves, a lag after hatch, and a fall before weaning.

rise(t) = A (1 + s e^(−K(t−ti)))^(−1/s), Richards 1959: s = 1 is logistic, s → 0 Gompertz, s = −1/3 von Bertalanffy.
"""

import math

import numpy as np
import numpy.typing as npt

from analysis.simulate.species import Species

Array = npt.NDArray[np.float64]

CURVES: dict[str, float | None] = {  # the shape; None: the species' own, with lag and fall
    "logistic": 1.0,
    "gompertz": 0.0,
    "von_bertalanffy": -1 / 3,
    "rise_and_fall": None,
}
_FALL_AT = 0.86  # of the weaning age, where half of the fall is over (invented)
_FALL_OVER = 0.05  # of the weaning age, the width of the fall (invented)


def rise(age_d: Array, A_g: Array, K_per_d: Array, ti_d: Array, shape: Array) -> Array:
    """Return the mass on the rising curve; all arrays broadcast.

    Examples
    --------
    >>> one = np.array([1.0])
    >>> rise(10 * one, 80 * one, 0.2 * one, 10 * one, one).tolist()
    [40.0]
    """
    e = np.exp(-K_per_d * (age_d - ti_d))
    smooth = np.where(np.abs(shape) < 1e-6, 1.0, shape)
    inside = np.maximum(smooth * e, -1 + 1e-3)  # far before hatch von Bertalanffy has no mass at all
    return A_g * np.exp(np.where(np.abs(shape) < 1e-6, -e, -np.log1p(inside) / smooth))


def falling(age_d: Array, wean_d: Array, fall: Array) -> Array:
    """Return what is left of the rise as weaning comes near: from 1 down to 1 − fall."""
    left: Array = 1 - fall / (1 + np.exp(-(age_d - _FALL_AT * wean_d) / (_FALL_OVER * wean_d)))
    return left


def typical(species: Species, curve: str) -> tuple[float, float, float, float]:
    """Return A, K, ti and the shape of a species' typical chick, so that it hatches at its hatch mass.

    Examples
    --------
    >>> from analysis.simulate.species import SPECIES
    >>> A, K, ti, shape = typical(SPECIES["cockatiel"], "logistic")
    >>> round(A), round(K, 4), shape
    (92, 0.2197, 1.0)
    """
    own = CURVES[curve]
    shape = species.shape if own is None else own
    A = species.adult_g / (1 - species.fall) if own is None else species.adult_g
    K = math.log(_u(0.1, shape) / _u(0.9, shape)) / species.t10_90_d
    return A, K, math.log(_u(species.hatch_g / A, shape)) / K, shape


def _u(share: float, shape: float) -> float:
    """Return e^(−K(t−ti)) where the curve has reached a share of A."""
    return (share**-shape - 1) / shape if shape else -math.log(share)
