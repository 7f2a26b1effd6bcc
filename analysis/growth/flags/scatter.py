"""How weighings scatter about a chick's curve: by a share of its weight, by some gram, and now and then wholly."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array

# Of a hundred weighings about one is written wrong (practice), by anything from a fifth to a decimal point.
MISTAKEN, MISTAKEN_BY = 0.01, 6.0
# Degrees of freedom of the scatter, Student's t: as heavy, and as good as normal.
HEAVIEST, LIGHTEST = 3.0, 60.0
# No scale and no crop are steadier than this share of a chick (practice).
LEAST_SHARE = 0.004


@dataclass(frozen=True)
class Scatter:
    """The scatter of ln mass about a curve.

    Parameters
    ----------
    share : scale of the part that grows with the chick, as a share of its weight
    gram : scale of the part that does not: rounding and the scale
    tails : degrees of freedom of Student's t
    """

    share: float = 0.03
    gram: float = 0.0
    tails: float = 8.0

    def scale(self, mass_g: Array) -> Array:
        """Scale of the scatter at these weights, as a share of them."""
        return np.sqrt(self.share**2 + (self.gram / mass_g) ** 2)

    def sd(self, mass_g: Array) -> Array:
        """Standard deviation of the scatter at these weights (what σ means elsewhere), as a share of them."""
        return self.scale(mass_g) * np.sqrt(self.tails / (self.tails - 2))

    def log_density(self, z: Array) -> Array:
        """Log density of a weighing z scales off, up to what does not depend on z."""
        right, wrong = self._densities(z)
        return np.log(right + wrong)

    def weight(self, z: Array) -> Array:
        """What a weighing z scales off counts for: about 1 if it is near, about 0 if it is a mistake."""
        right, wrong = self._densities(z)
        by_right, by_wrong = (self.tails + 1) / (self.tails + z**2), 2 / (MISTAKEN_BY**2 + z**2)
        return (right * by_right + wrong * by_wrong) / (right + wrong)

    def _densities(self, z: Array) -> tuple[Array, Array]:
        tails = self.tails
        at_zero = 1 / np.sqrt(2 * np.pi) * (1 - 1 / (4 * tails))  # of t, to a thousandth for three degrees and up
        right = (1 - MISTAKEN) * at_zero * (1 + z**2 / tails) ** (-(tails + 1) / 2)
        return right, MISTAKEN / (np.pi * MISTAKEN_BY * (1 + (z / MISTAKEN_BY) ** 2))


def scatter_of(off: Array, mass_g: Array, known: Array) -> Scatter:
    """The most likely scatter of weighings that are `off` their curves.

    Parameters
    ----------
    off : (weighings,), ln mass less the curve
    mass_g : (weighings,)
    known : (weighings,), what share of the scatter the curve has not followed, (1 - leverage)

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> found = scatter_of(0.03 * rng.standard_normal(4000), np.full(4000, 50.0), np.ones(4000))
    >>> round(float(found.sd(np.array([50.0]))[0]), 3)
    0.03
    """
    from scipy.optimize import minimize

    off = off / np.sqrt(np.maximum(known, 0.05))
    spread = max(1.4826 * float(np.median(np.abs(off))), LEAST_SHARE)
    typical = float(np.median(mass_g))

    def down(x: Array) -> float:
        scatter = _from(x, spread, typical)
        scale = scatter.scale(mass_g)
        return float(np.sum(np.log(scale)) - np.sum(scatter.log_density(off / scale)))

    found = minimize(down, np.array([0.0, -1.5, 0.0]), method="Nelder-Mead", options={"maxfev": 120, "xatol": 0.01})
    return _from(found.x, spread, typical)


def _from(x: Array, spread: float, typical: float) -> Scatter:
    """A scatter from numbers without bounds."""
    share, gram = spread * np.exp(np.clip(x[:2], -6, 2))
    tails = HEAVIEST + (LIGHTEST - HEAVIEST) / (1 + np.exp(2 - np.clip(x[2], -20, 20)))
    return Scatter(max(float(share), LEAST_SHARE), float(gram * typical), float(tails))
