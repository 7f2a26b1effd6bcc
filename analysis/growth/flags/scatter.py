"""How weighings scatter about a chick's curve: by a share of its weight, by some gram, and now and then wholly."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array

# Of a hundred weighings about one is written wrong (practice), by anything from a fifth to a decimal point.
MISTAKEN, MISTAKEN_BY = 0.01, 6.0
# Tried: degrees of freedom of the scatter, Student's t, from heavy to as good as normal; and the part in gram, as a
# multiple of the other at the typical weight.
TAILS, GRAM = (3.0, 4.0, 5.5, 8.0, 12.0, 20.0, 60.0), (0.0, 0.15, 0.3, 0.6, 1.2)
ROUNDS = 8
# No scale and no crop are steadier than this share of a chick (practice).
LEAST_SHARE = 0.004
FARTHEST = 1e6  # further than this from what was expected all weights are nothing, and sums of nothing are no number


@dataclass(frozen=True)
class Scatter:
    """The scatter of ln mass about a curve.

    Parameters
    ----------
    share : scale of the part that grows with the chick, as a share of its weight
    gram : scale of the part that does not: rounding and the scale
    tails : degrees of freedom of Student's t
    alike : correlation of what a chick's weighings are off, from one day to the next
    """

    share: float = 0.03
    gram: float = 0.0
    tails: float = 8.0
    alike: float = 0.0

    def scale(self, mass_g: Array) -> Array:
        """Scale of the scatter at these weights, as a share of them."""
        scale: Array = np.sqrt(self.share**2 + (self.gram / mass_g) ** 2)
        return scale

    def sd(self, mass_g: Array) -> Array:
        """Standard deviation of the scatter at these weights (what σ means elsewhere), as a share of them."""
        sd: Array = self.scale(mass_g) * np.sqrt(self.tails / (self.tails - 2))
        return sd

    def log_density(self, z: Array) -> Array:
        """Log density of a weighing z scales off, up to what does not depend on z."""
        return _log_density(z, self.tails)

    def weight(self, z: Array) -> Array:
        """What a weighing z scales off counts for: about 1 if it is near, about 0 if it is a mistake."""
        return _weight(z, self.tails)


def scatter_of(off: Array, mass_g: Array, known: Array) -> Scatter:
    """The most likely scatter of weighings that are `off` their curves.

    For each of some tails and some shares of gram, the scale is found by expectation and maximisation; the likeliest
    of them is taken.

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
    typical = float(np.median(mass_g))
    tails, gram = (part.reshape(-1, 1) for part in np.meshgrid(TAILS, GRAM))
    grown = np.sqrt(1 + (gram * typical / mass_g) ** 2)
    apart = off / np.sqrt(np.maximum(known, 0.05)) / grown
    share = np.maximum(1.4826 * np.median(np.abs(apart), axis=1, keepdims=True), LEAST_SHARE)
    for _ in range(ROUNDS):
        counted = _weight(apart / share, tails)
        share = np.maximum(np.sqrt(np.mean(counted * apart**2, axis=1, keepdims=True)), LEAST_SHARE)
    likely = np.sum(_log_density(apart / share, tails) - np.log(share * grown), axis=1)
    best = int(np.argmax(likely))
    return Scatter(float(share[best, 0]), float(share[best, 0] * gram[best, 0] * typical), float(tails[best, 0]))


def _log_density(z: Array, tails: float | Array) -> Array:
    right, wrong = _densities(z, tails)
    return np.log(right + wrong)


def _weight(z: Array, tails: float | Array) -> Array:
    z = np.clip(z, -FARTHEST, FARTHEST)
    right, wrong = _densities(z, tails)
    by_right, by_wrong = (tails + 1) / (tails + z**2), 2 / (MISTAKEN_BY**2 + z**2)
    return (right * by_right + wrong * by_wrong) / (right + wrong)


def _densities(z: Array, tails: float | Array) -> tuple[Array, Array]:
    """Of a weighing that is right, by Student's t, and of one that is mistaken, by Cauchy's distribution."""
    at_zero = 1 / np.sqrt(2 * np.pi) * (1 - 1 / (4 * tails))  # of t, to a thousandth for three degrees and up
    right = (1 - MISTAKEN) * at_zero * (1 + z**2 / tails) ** (-(tails + 1) / 2)
    return right, MISTAKEN / (np.pi * MISTAKEN_BY * (1 + (z / MISTAKEN_BY) ** 2))
