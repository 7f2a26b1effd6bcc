"""Growth curves: how the weight of a chick rises with its age, and the numbers compared between curves.

All of them are one family, with ti the age at which growth is fastest (m is called `shape` in code):

    W(t) = A (1 + m e^(-K (t - ti)))^(-1/m)

m = 1 is the logistic, m = -1/3 von Bertalanffy's for mass, m → 0 Gompertz's, and Richards' leaves m free.
K of one curve is not K of another: compare t10-90 and the largest daily gain.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# Beyond this exponent a curve is at zero or at A for every purpose, and its derivatives would overflow.
FARTHEST = 600.0


@dataclass(frozen=True)
class Curve:
    """One growth curve of the family above; `shape` is m, or None where it is fitted with the rest.

    Fits work on (ln A, ln K, ti, m): A and K cannot turn negative, a step means the same share of a canary as
    of a macaw, and these are the scales on which chicks and pairs vary in the mixed model. Every method takes
    arrays that broadcast against each other, so that many chicks are worked at once.
    """

    name: str
    shape: float | None

    @property
    def parameters(self) -> tuple[str, ...]:
        """Names of the fitted parameters, as they stand in tables."""
        return ("A_g", "K_per_d", "ti_d") + (("shape",) if self.shape is None else ())

    def mass(
        self, age_d: ArrayLike, A_g: ArrayLike, K_per_d: ArrayLike, ti_d: ArrayLike, shape: ArrayLike = 1
    ) -> Array:
        """Mass at an age, W(t), in the unit of A (gram); `shape` is read by Richards' curve alone."""
        from_ti = np.asarray(K_per_d, float) * (np.asarray(ti_d, float) - np.asarray(age_d, float))
        return np.asarray(A_g, float) * np.exp(_log_share(_exp(from_ti), self._shape(shape)))

    def log_mass(self, age_d: Array, theta: Array) -> Array:
        """Ln W(t) for theta = (ln A, ln K, ti[, m]) along its first axis; -inf where the curve is at zero."""
        x = _exp(np.exp(theta[1]) * (theta[2] - age_d))
        return np.asarray(theta[0] + _log_share(x, self._shape(theta[-1])))

    def log_mass_gradient(self, age_d: Array, theta: Array) -> tuple[Array, Array]:
        """Ln W(t), of the shape of `age_d`, and its derivatives by ln A, ln K, ti[, m], (parameters, that shape).

        age_d : (rows,) or (rows, chicks), days
        theta : (parameters, rows), of the chick to which each row belongs, (parameters, 1), or (parameters, chicks)

        Derivatives of W itself are these times W. Where the curve is at zero, ln W is -inf and its derivatives are
        finite, so that those of W are 0.
        """
        K = np.exp(theta[1])
        z = K * (theta[2] - age_d)
        x, m = _exp(z), _nonzero(self._shape(theta[-1]))
        q = np.maximum(m * x, -1.0)
        gradient = np.empty((len(self.parameters), *np.shape(z)))
        by_z = -x / np.maximum(1 + q, 1e-30)
        gradient[0] = 1.0
        np.multiply(by_z, z, out=gradient[1])
        np.multiply(by_z, K, out=gradient[2])
        if self.shape is None:
            gradient[3] = _by_shape(x, m)
        return theta[0] - _log1p(q) / m, gradient

    def mass_gradient(self, age_d: Array, theta: Array) -> tuple[Array, Array]:
        """W(t) and its derivatives by ln A, ln K, ti[, m]; arguments and shapes as in `log_mass_gradient`."""
        value, gradient = self.log_mass_gradient(age_d, theta)
        mass = np.exp(value)
        gradient *= mass
        return mass, gradient

    def mass_at_inflection(self, A_g: ArrayLike, shape: ArrayLike = 1) -> Array:
        """Mass at ti, where growth is fastest: A (1 + m)^(-1/m), in gram."""
        return np.asarray(A_g, float) * np.exp(_log_share(np.ones(()), self._shape(shape)))

    def t10_90(self, K_per_d: ArrayLike, shape: ArrayLike = 1) -> Array:
        """Days from 10 % to 90 % of A: how long the growing takes, comparable between curves."""
        return np.asarray((self.z_at(np.log(0.1), shape) - self.z_at(np.log(0.9), shape)) / np.asarray(K_per_d, float))

    def largest_gain(self, A_g: ArrayLike, K_per_d: ArrayLike, shape: ArrayLike = 1) -> Array:
        """Gain at ti, A K (1 + m)^(-1/m - 1), in gram a day: comparable between curves."""
        return np.asarray(self.mass_at_inflection(A_g, shape) * np.asarray(K_per_d, float) / (1 + self._shape(shape)))

    def z_at(self, log_share: ArrayLike, shape: ArrayLike = 1) -> Array:
        """-K (t - ti) where the curve reaches the share e^u (below 1) of A, made straight: ln((e^(-m u) - 1) / m)."""
        m = _nonzero(self._shape(shape))
        return np.asarray(np.log(np.expm1(-m * np.asarray(log_share, float)) / m))

    def _shape(self, fitted: ArrayLike) -> Array:
        return np.asarray(fitted if self.shape is None else self.shape, float)


CURVES = {
    curve.name: curve
    for curve in (
        Curve("logistic", 1.0),
        Curve("gompertz", 0.0),
        Curve("von_bertalanffy", -1 / 3),
        Curve("richards", None),
    )
}
# The curves of three numbers, between which can be chosen.
OF_THREE = tuple(name for name, curve in CURVES.items() if curve.shape is not None)


def named_curve(name: str) -> Curve:
    """The curve of that name; ValueError, which lists those there are, for another."""
    if not isinstance(name, str) or name not in CURVES:
        raise ValueError(f"There is no curve {name!r}. Curves: {', '.join(CURVES)}.")
    return CURVES[name]


def _exp(z: Array) -> Array:
    return np.exp(np.minimum(z, FARTHEST))


def _nonzero(m: Array) -> Array:
    """log1p(m x) / m is x to the last digit at such an m, so m = 0 needs no branch of its own."""
    return np.where(m == 0, 1e-90, m)


def _log_share(x: Array, m: Array) -> Array:
    """Ln (W / A) at x = e^z: -ln(1 + m x) / m; -inf where 1 + m x ≤ 0, before growth begins."""
    m = _nonzero(m)
    return -_log1p(np.maximum(m * x, -1.0)) / m


def _log1p(q: Array) -> Array:
    with np.errstate(divide="ignore"):
        return np.log1p(q)


def _by_shape(x: Array, m: Array) -> Array:
    """Derivative of ln (W / A) by m: ln(1 + q)/m² - x/(m (1 + q)), q = m x; a series where that cancels."""
    m = _nonzero(m)
    q = np.maximum(m * x, -1 + 1e-12)
    near = np.abs(q) < 1e-3
    q_near, q_far = np.where(near, q, 0.0), np.where(near, 1.0, q)
    series = 1 / 2 - q_near * (2 / 3 - q_near * (3 / 4 - q_near * (4 / 5 - q_near * 5 / 6)))
    plain = (np.log1p(q_far) - q_far / (1 + q_far)) / np.where(near, 1.0, m) ** 2
    return np.where(near, np.where(near, x, 0.0) ** 2 * series, plain)
