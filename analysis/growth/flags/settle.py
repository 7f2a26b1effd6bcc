"""The curve of each chick from its own weighings and what is known of its kind, mistakes counting for little."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array, Curve

# Of a hundred weighings about one is written wrong (practice), by anything from a fifth to a decimal point.
MISTAKEN, MISTAKEN_BY = 0.01, 6.0
# Tried: degrees of freedom of the scatter, Student's t, from heavy to as good as normal; and the part in gram, as a
# multiple of the other at the typical weight.
TAILS, GRAM = (3.0, 4.0, 5.5, 8.0, 12.0, 20.0, 60.0), (0.0, 0.15, 0.3, 0.6, 1.2)
ROUNDS = 8
# No scale and no crop are steadier than this share of a chick (practice).
LEAST_SHARE = 0.004
FARTHEST = 1e6  # further than this from what was expected all weights are nothing, and sums of nothing are no number
SETTLE_ROUNDS = 12
# Of ln A, of ln K, and of the days that ti is known to beforehand: a step longer than this is cut.
LONGEST = 0.5
NEAR = 1e-4
# While every weighing is trusted it is taken to be off by so much less.
TRUSTING = 0.1
# Degrees of freedom of how chicks differ, where it is asked whether one is far from its kind.
FAR = 4.0
# Ln of a mass that no bird has: von Bertalanffy's curve begins at zero.
NOTHING = -12.0


@dataclass(frozen=True)
class Scatter:
    """The scatter of ln mass about a curve."""

    share: float = 0.03  # scale of the part that grows with the chick, as a share of its weight
    gram: float = 0.0  # scale of the part that does not: rounding and the scale
    tails: float | Array = 8.0  # degrees of freedom of Student's t; a column where several are tried
    alike: float = 0.0  # correlation of what a chick's weighings are off, from one day to the next

    def scale(self, mass_g: Array) -> Array:
        """Scale of the scatter at these weights, as a share of them."""
        return np.asarray(np.sqrt(self.share**2 + (self.gram / mass_g) ** 2))

    def sd(self, mass_g: Array) -> Array:
        """Standard deviation of the scatter at these weights (what σ means elsewhere), as a share of them."""
        return np.asarray(self.scale(mass_g) * np.sqrt(self.tails / (self.tails - 2)))

    def log_density(self, z: Array) -> Array:
        """Log density of a weighing z scales off, up to what does not depend on z."""
        right, wrong = self._densities(z)
        return np.asarray(np.log(right + wrong))

    def weight(self, z: Array) -> Array:
        """What a weighing z scales off counts for: about 1 if it is near, about 0 if it is a mistake."""
        z = np.clip(z, -FARTHEST, FARTHEST)
        right, wrong = self._densities(z)
        by_right, by_wrong = (self.tails + 1) / (self.tails + z**2), 2 / (MISTAKEN_BY**2 + z**2)
        return np.asarray((right * by_right + wrong * by_wrong) / (right + wrong))

    def _densities(self, z: Array) -> tuple[Array, Array]:
        """Of a weighing that is right, by Student's t, and of one that is mistaken, by Cauchy's distribution."""
        tails = self.tails
        at_zero = 1 / np.sqrt(2 * np.pi) * (1 - 1 / (4 * tails))  # of t: 0.002 too low at 3, 0.001 from 4 on
        right = (1 - MISTAKEN) * at_zero * (1 + z**2 / tails) ** (-(tails + 1) / 2)
        return np.asarray(right), MISTAKEN / (np.pi * MISTAKEN_BY * (1 + (z / MISTAKEN_BY) ** 2))


def scatter_of(off: Array, mass_g: Array, known: Array) -> Scatter:
    """The most likely scatter of weighings that are `off` (ln mass) their curves.

    For each of some tails and some shares of gram, the scale is found by expectation and maximisation; the likeliest
    of them is taken. known : what share of the scatter the curve has not followed, (1 - leverage).
    """
    typical = float(np.median(mass_g))
    tails, gram = (part.reshape(-1, 1) for part in np.meshgrid(TAILS, GRAM))
    tried, grown = Scatter(tails=tails), np.sqrt(1 + (gram * typical / mass_g) ** 2)
    apart = off / np.sqrt(np.maximum(known, 0.05)) / grown
    share = np.maximum(1.4826 * np.median(np.abs(apart), axis=1, keepdims=True), LEAST_SHARE)
    for _ in range(ROUNDS):
        counted = tried.weight(apart / share)
        share = np.maximum(np.sqrt(np.mean(counted * apart**2, axis=1, keepdims=True)), LEAST_SHARE)
    likely = np.sum(tried.log_density(apart / share) - np.log(share * grown), axis=1)
    best = int(np.argmax(likely))
    return Scatter(float(share[best, 0]), float(share[best, 0] * gram[best, 0] * typical), float(tails[best, 0]))


@dataclass(frozen=True)
class Prior:
    """What is known of chicks before they are weighed, normal on ln A, ln K and ti: (3, chicks), (3, 3, chicks)."""

    mean: Array
    precision: Array


@dataclass(frozen=True)
class Table:
    """Weighings of many chicks side by side, (rows, chicks); `real` is 0 where there is no weighing."""

    age_d: Array
    log_mass: Array
    scale: Array
    real: Array


@dataclass(frozen=True)
class Settled:
    """Where chicks came to rest: their curves, and of each weighing (rows, chicks) what is known of it."""

    theta: Array  # (3, chicks), ln A, ln K, ti
    covariance: Array  # (3, 3, chicks)
    fitted: Array  # the curve there
    leverage: Array  # how far it follows that weighing
    counted: Array  # what the weighing counted for


def settle(curve: Curve, prior: Prior, table: Table, scatter: Scatter) -> Settled:
    """Find the most likely curve of each chick, by Gauss–Newton with weights from the scatter.

    A chick far from its kind looks like a row of mistakes. Where most of a chick's weighings count for nothing, its
    curve is sought again from one that believes them all, and the likelier of the two is kept.
    """
    theta = _search(curve, prior, table, scatter, trusting=2)
    z = (table.log_mass - _curve(curve, table.age_d, theta)[0]) / table.scale
    doubted = (table.real * scatter.weight(z)).sum(axis=0) < table.real.sum(axis=0) / 2
    lost = doubted & (np.count_nonzero(table.real, axis=0) > 1)
    if lost.any():
        own = Prior(prior.mean[:, lost], prior.precision[..., lost])
        some = Table(*(part[:, lost] for part in (table.age_d, table.log_mass, table.scale, table.real)))
        other = _search(curve, own, some, scatter, trusting=SETTLE_ROUNDS - 4)
        better = _likely(curve, own, some, other, scatter) > _likely(curve, own, some, theta[:, lost], scatter)
        theta[:, lost] = np.where(better, other, theta[:, lost])
    value, J = _curve(curve, table.age_d, theta)
    counted = table.real * scatter.weight((table.log_mass - value) / table.scale)
    covariance = invert(_normal(J, value, counted, table.scale)[0] + prior.precision)
    leverage = counted * variance_along(J, covariance) / table.scale**2
    return Settled(theta, covariance, value, np.minimum(leverage, 0.999), counted)


def _search(curve: Curve, prior: Prior, table: Table, scatter: Scatter, *, trusting: int) -> Array:
    """Theta of (3, chicks); for the first few rounds every weighing is trusted."""
    theta = prior.mean.copy()
    longest = np.stack([np.full(theta.shape[1], LONGEST)] * 2 + [LONGEST * 4 / np.exp(theta[1])])
    for turn in range(SETTLE_ROUNDS):
        value, J = _curve(curve, table.age_d, theta)
        z = (table.log_mass - value) / table.scale
        counted = table.real * (scatter.weight(z) if turn >= trusting else scatter.weight(TRUSTING * z))
        H, slope = _normal(J, z, counted, table.scale)
        H += prior.precision
        slope -= np.einsum("ijn,jn->in", prior.precision, theta - prior.mean)
        step = np.einsum("ijn,jn->in", invert(H), slope)
        short = np.minimum(1.0, np.min(longest / np.maximum(np.abs(step), 1e-12), axis=0))
        theta = theta + short * step
        if turn > trusting + 1 and np.max(np.abs(step) / longest, initial=0.0) < NEAR:
            break
    return theta


def _likely(curve: Curve, prior: Prior, table: Table, theta: Array, scatter: Scatter) -> Array:
    """How likely curves are, (chicks,), up to a constant; that a chick is far from its kind is not ruled out."""
    z = (table.log_mass - _curve(curve, table.age_d, theta)[0]) / table.scale
    away = theta - prior.mean
    far = np.einsum("in,ijn,jn->n", away, prior.precision, away)
    return np.asarray(np.sum((table.real > 0) * scatter.log_density(z), axis=0) - (FAR + 3) / 2 * np.log1p(far / FAR))


def variance_along(J: Array, covariance: Array) -> Array:
    """Variance of a curve at ages with gradient J of (3, ...), for a covariance of (3, 3, chicks), (...)."""
    (a, b, c), (_, d, e), (_, _, f) = covariance
    A, K, ti = J
    return np.asarray(A * (a * A + 2 * (b * K + c * ti)) + K * (d * K + 2 * e * ti) + f * ti**2)


def invert(matrix: Array) -> Array:
    """Inverse of symmetric 3 × 3 matrices, (3, 3, chicks), by cofactors."""
    (a, b, c), (_, d, e), (_, _, f) = matrix
    A, B, C = d * f - e * e, c * e - b * f, b * e - c * d
    D, E, F = a * f - c * c, b * c - a * e, a * d - b * b
    return np.asarray(np.array([[A, B, C], [B, D, E], [C, E, F]]) / (a * A + b * B + c * C))


def _curve(curve: Curve, age_d: Array, theta: Array) -> tuple[Array, Array]:
    """A curve and its gradient; where it has no mass to speak of a weighing pulls no way."""
    value, J = curve.log_mass_gradient(age_d, theta)
    nothing = ~(value > NOTHING)
    return np.where(nothing, NOTHING, value), np.where(nothing, 0.0, J)


def _normal(J: Array, z: Array, counted: Array, scale: Array) -> tuple[Array, Array]:
    """J'WJ and J'Wz of each chick."""
    chicks = z.shape[1]
    H, slope = np.empty((3, 3, chicks)), np.empty((3, chicks))
    by = counted / scale
    weighted = J * (by / scale)
    for i in range(3):
        slope[i] = np.einsum("rn,rn->n", J[i], by * z)
        for j in range(i + 1):
            H[i, j] = H[j, i] = np.einsum("rn,rn->n", weighted[i], J[j])
    return H, slope
