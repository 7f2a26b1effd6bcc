"""The likelihood of a linear mixed model with nested levels, from cross-products alone.

A chick's weighings say what its parameters are: with the precision P = J'J / sigma² and the evidence q = J'w / sigma²
(J: derivatives of the curve; w: the weighings, made linear). An effect b = l z with z ~ Normal(0, 1) that stands
between them and the mean of its pair takes away from what they say about that mean:

    P ← P - P l l'P / (1 + l'P l)      q ← q - P l (l'q) / (1 + l'P l)      (Sherman–Morrison)

Effect after effect, then summed over the chicks of a pair, then over the pairs, this leaves what all weighings say
about the population. Nothing is inverted but the last 3 × 3 matrix, standard deviations may be zero, and the cost
does not depend on the number of weighings. Here everything is in units of sigma; arrays are laid out as
(3, 3, draws, chicks), so that the work runs along chicks.
"""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array

NAMES = ("A", "K", "ti")
LEVELS = ("chick", "pair")


@dataclass(frozen=True)
class Level:
    """The effects that one level has, and whether they may be correlated.

    Its parameters are x = (log standard deviation of each effect, then the inverse hyperbolic tangents of the partial
    correlations, row after row), so that every x is a covariance; several x, such as draws, lie along the second axis.
    """

    effects: tuple[int, ...]  # which of A, K, ti vary, as positions 0, 1, 2
    full: bool = False

    @property
    def size(self) -> int:
        """How many numbers x has."""
        r = len(self.effects)
        return r + (r * (r - 1) // 2 if self.full else 0)

    def root(self, x: Array) -> Array:
        """A root L of the covariance, L L', (3, effects, draws), for x of (size, draws)."""
        r = len(self.effects)
        root = np.zeros((3, r, x.shape[1]))
        for j, effect in enumerate(self.effects):
            root[effect, : j + 1] = np.exp(x[j]) * self._row(x, j)
        return root

    def slope(self, x: Array, score: Array) -> Array:
        """Derivatives of a function by x, (size, draws), from its derivatives by the covariance, (3, 3, draws)."""
        by_root = 2 * np.einsum("ij...,jc...->ic...", score, self.root(x))
        slope = np.zeros_like(x)
        for j, effect in enumerate(self.effects):
            by_row, row = np.exp(x[j]) * by_root[effect, : j + 1], self._row(x, j)
            slope[j] = np.sum(by_row * row, axis=0)
            for m, y in enumerate(self._partial(x, j)):
                left = row[m + 1 :] * by_row[m + 1 :]
                sech = 1 / np.cosh(y)
                rest = np.sqrt(np.sum(row[m:] ** 2, axis=0))
                slope[self._at(j) + m] = by_row[m] * rest * sech**2 - np.tanh(y) * left.sum(axis=0)
        return slope

    def sds(self, x: Array) -> Array:
        """Standard deviations of A, K, ti, (3, draws); NaN for an effect that this level has not."""
        sds = np.full((3, x.shape[1]), np.nan)
        sds[list(self.effects)] = np.exp(x[: len(self.effects)])
        return sds

    def _at(self, j: int) -> int:
        return len(self.effects) + j * (j - 1) // 2

    def _partial(self, x: Array, j: int) -> Array:
        return x[self._at(j) : self._at(j) + j] if self.full else x[:0]

    def _row(self, x: Array, j: int) -> Array:
        """Row j of the root of the correlations, (j + 1, draws)."""
        row, rest = np.zeros((j + 1, x.shape[1])), np.ones(x.shape[1])
        for m, y in enumerate(self._partial(x, j)):
            row[m] = rest * np.tanh(y)
            rest = rest / np.cosh(y)
        row[j] = rest
        return row


@dataclass(frozen=True)
class Evidence:
    """What the weighings say about the parameters of each chick, less a common centre."""

    P: Array  # (3, 3, 1, chicks), J'J
    q: Array  # (3, 1, chicks), J'w
    s: float  # w'w, summed
    n: int  # weighings
    first: np.ndarray | None  # at which chick each pair begins (chicks stand pair by pair); None without a pair level

    def of_pairs(self, values: Array) -> Array:
        """Sum over the chicks of each pair, along the last axis."""
        assert self.first is not None
        return np.add.reduceat(values, self.first, axis=-1)

    def of_chicks(self, values: Array) -> Array:
        """A value of each pair repeated for its chicks."""
        assert self.first is not None
        return np.repeat(values, np.diff(self.first, append=self.P.shape[-1]), axis=-1)


@dataclass(frozen=True)
class Stage:
    """What is said about the mean of a level once its own effects are taken up."""

    P: Array  # (3, 3, draws, units), seen from the mean of the level above
    q: Array  # (3, draws, units)
    omega: Array  # (3, 3, draws, 1), covariance of the effects

    def pull(self, mean: Array) -> Array:
        """Score of the mean, q - P mean, (3, draws, units)."""
        return self.q - times(self.P, mean)

    def effects(self, mean: Array) -> Array:
        """Expected effects given the mean of the level above, omega (q - P mean)."""
        return times(self.omega, self.pull(mean))

    def spread(self) -> Array:
        """Covariance of the effects given that mean, omega - omega P omega."""
        return self.omega - matmul(matmul(self.omega, self.P), self.omega)

    def keep(self) -> Array:
        """How much of that mean remains in the expectation of the level's own, I - omega P."""
        return np.eye(3)[:, :, None, None] - matmul(self.omega, self.P)


@dataclass(frozen=True)
class Likelihood:
    """The likelihood at some standard deviations, and all that is needed for its slope and for the effects."""

    value: Array  # (draws,), log-likelihood; with a flat prior on the means integrated out if it was `restricted`
    sigma: Array  # (draws,), residual standard deviation
    mean: Array  # (3, draws, 1), population, less the centre
    variance: Array  # (3, 3, draws, 1), of that mean, in units of sigma²
    rss: Array  # (draws,), generalised sum of squares
    chick: Stage
    pair: Stage | None  # None where there is no such level


def likelihood(
    evidence: Evidence, chick: Array, pair: Array | None, *, sigma: Array | None = None, restricted: bool = False
) -> Likelihood:
    """Log-likelihood for roots of the chicks' and pairs' covariances (3, effects, draws), in units of sigma.

    Where sigma is not given it is the one of greatest likelihood, √(rss / n).

    Source: Pinheiro & Bates 2000, *Mixed-Effects Models in S and S-PLUS*, ch. 2 (the same likelihood there by
    QR decompositions).
    """
    draws = chick.shape[-1]
    own, taken, log_det = _take_up(evidence.P, evidence.q, chick)
    above, P, q = None, own.P, own.q
    if pair is not None:
        above, taken_too, log_det_too = _take_up(evidence.of_pairs(P), evidence.of_pairs(q), pair)
        P, q, taken, log_det = above.P, above.q, taken + taken_too, log_det + log_det_too
    P, q = P.sum(axis=-1), q.sum(axis=-1)
    variance = np.moveaxis(np.linalg.pinv(np.moveaxis(P, -1, 0), hermitian=True), 0, -1)
    mean = np.einsum("ijb,jb->ib", variance, q)
    rss = np.maximum(evidence.s - taken - np.sum(q * mean, axis=0), 1e-15 * evidence.s + 1e-300)
    if sigma is None:
        sigma = np.sqrt(rss / evidence.n)
    value = -0.5 * (evidence.n * np.log(2 * np.pi * sigma**2) + rss / sigma**2 + log_det)
    if restricted:
        value = value - 0.5 * (np.linalg.slogdet(np.moveaxis(P, -1, 0))[1] - 6 * np.log(sigma))
    value, sigma = np.broadcast_to(value, (draws,)), np.broadcast_to(sigma, (draws,))
    return Likelihood(value, sigma, mean[..., None], variance[..., None], rss, own, above)


def _scores(evidence: Evidence, at: Likelihood, *, restricted: bool = False) -> list[Array]:
    """Derivatives of the log-likelihood by the covariances of chicks and of pairs, (3, 3, draws) each.

    S = ½ Σ (k k' / sigma² - M), k the pull on a unit's effects and M its variance, both seen from the population.
    """
    mean, chick, pair = at.mean, at.chick, at.pair
    if pair is None:
        seen = matmul(chick.P, matmul(at.variance, chick.P)) if restricted else 0.0
        return [_score(chick.pull(mean), chick.P - seen, at.sigma)]
    of_pair = matmul(pair.P, matmul(at.variance, pair.P)) if restricted else 0.0
    pull = pair.pull(mean)
    means = evidence.of_chicks(mean + times(pair.omega, pull))
    unsure = pair.spread()
    if restricted:
        keep = pair.keep()
        unsure = unsure + matmul(keep, matmul(at.variance, np.swapaxes(keep, 0, 1)))
    of_chick = matmul(chick.P, matmul(evidence.of_chicks(unsure), chick.P))
    return [_score(chick.pull(means), chick.P - of_chick, at.sigma), _score(pull, pair.P - of_pair, at.sigma)]


def objective(
    evidence: Evidence, levels: tuple[Level, ...], x: Array, *, restricted: bool = False
) -> tuple[Likelihood, Array]:
    """Likelihood at x of (parameters, draws), and its derivatives by x.

    x holds the parameters of each level in units of sigma, and last log sigma where it is not to be profiled.
    """
    parts = split(levels, x)
    roots = [level.root(part) for level, part in zip(levels, parts, strict=False)]
    sigma = np.exp(x[-1]) if len(parts) > len(levels) else None
    pair = roots[1] if len(roots) > 1 else None
    at = likelihood(evidence, roots[0], pair, sigma=sigma, restricted=restricted)
    by = _scores(evidence, at, restricted=restricted)
    slopes = [level.slope(part, score) for level, part, score in zip(levels, parts, by, strict=False)]
    if sigma is not None:
        slopes.append((at.rss / sigma**2 - evidence.n + (3 if restricted else 0))[None])
    return at, np.concatenate(slopes)


def split(levels: tuple[Level, ...], x: Array) -> list[Array]:
    """The parameters of each level, and last log sigma where x has it."""
    ends = np.cumsum([level.size for level in levels])
    parts = np.split(x, ends)
    return parts if len(parts[-1]) else parts[:-1]


def times(matrix: Array, vector: Array) -> Array:
    """Matrix times vector along the first axes."""
    product: Array = matrix[:, 0] * vector[0] + matrix[:, 1] * vector[1] + matrix[:, 2] * vector[2]
    return product


def matmul(left: Array, right: Array) -> Array:
    """Matrix times matrix along the first two axes."""
    return left[:, 0, None] * right[None, 0] + left[:, 1, None] * right[None, 1] + left[:, 2, None] * right[None, 2]


def _take_up(P: Array, q: Array, root: Array) -> tuple[Stage, Array, Array]:
    """Take up the effects of a level; the sum of squares they explain, and log det(I + P omega), summed."""
    omega = np.einsum("ic...,jc...->ij...", root, root)[..., None]
    draws = root.shape[-1]
    explained, log_det = np.zeros(draws), np.zeros(draws)
    for column in range(root.shape[1]):
        effect = root[:, column, :, None]
        Pl, lq = times(P, effect), np.sum(effect * q, axis=0)
        grown = 1 + np.sum(effect * Pl, axis=0)
        share = Pl / grown
        P, q = P - Pl[:, None] * share[None], q - share * lq
        explained = explained + np.sum(lq**2 / grown, axis=-1)
        log_det = log_det + np.sum(np.log(grown), axis=-1)
    return Stage(P, q, omega), explained, log_det


def _score(pull: Array, variance: Array, sigma: Array) -> Array:
    outer = np.einsum("ibn,jbn->ijb", pull, pull)
    return np.asarray(0.5 * (outer / sigma**2 - variance.sum(axis=-1)))
