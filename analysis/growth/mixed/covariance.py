"""How the effects of one level scatter: standard deviations and correlations as numbers without bounds."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array

NAMES = ("A", "K", "ti")
LEVELS = ("chick", "pair")


@dataclass(frozen=True)
class Level:
    """The effects that one level has, and whether they may be correlated.

    Its parameters are x = (log standard deviation of each effect, then the inverse hyperbolic tangents of the
    partial correlations, row after row), so that every x is a covariance. A level may have several x at once,
    along the second axis: the draws of the integrated intervals.

    Parameters
    ----------
    effects : which of A, K, ti vary, as positions 0, 1, 2
    full : whether they may be correlated

    Examples
    --------
    >>> level = Level((0, 2), full=True)
    >>> root = level.root(np.array([[np.log(0.2)], [np.log(3)], [np.arctanh(0.5)]]))[..., 0]
    >>> (root @ root.T).round(3).tolist()
    [[0.04, 0.0, 0.3], [0.0, 0.0, 0.0], [0.3, 0.0, 9.0]]
    """

    effects: tuple[int, ...]
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
