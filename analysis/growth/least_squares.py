"""Damped least squares (Levenberg–Marquardt) on many small problems at once.

Rows of all problems lie end to end, so problems of any size share one array and the cost is linear in rows.
Each problem has its own damping, and leaves the work when it has settled.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array

Model = Callable[[Array, Array], tuple[Array, Array]]

MOST_STEPS = 200
# Settled: what is still to go is this share of a standard error (Bates & Watts' relative offset, as R's nls).
OFFSET = 1e-7
# Damping at which no step helps any more.
STUCK = 1e12
# A change of the sum of squares by this share is rounding.
ROUNDING = 1e-13


@dataclass(frozen=True)
class Problems:
    """Many small problems, their rows end to end.

    Parameters
    ----------
    model : (x, theta of each row) → value (rows,) and gradient (parameters, rows)
    x, y : (rows,), problem after problem
    sizes : (problems,), rows of each problem, at least one
    low, high : (problems, parameters), bounds
    fine : (problems,), a residual so small that it is rounding, by which an exact fit is told
    """

    model: Model
    x: Array
    y: Array
    sizes: np.ndarray
    low: Array
    high: Array
    fine: Array

    def measure(self, which: np.ndarray, theta: Array) -> tuple[Array, Array, Array]:
        """Residual sum of squares, J'r and J'J of some of the problems (`which`: their numbers, rising).

        Where any of them is not finite the sum of squares is infinite and the others are zero.
        """
        rows, sizes = self._rows(which), self.sizes[which]
        first = np.cumsum(sizes) - sizes
        cross = np.empty((len(sizes), theta.shape[1], theta.shape[1]))
        with np.errstate(over="ignore", invalid="ignore"):
            value, gradient = self.model(self.x[rows], np.repeat(theta.T, sizes, axis=1))
            residual = self.y[rows] - value
            for i, by_i in enumerate(gradient):
                for j in range(i + 1):
                    cross[:, i, j] = cross[:, j, i] = np.add.reduceat(by_i * gradient[j], first)
            slope = np.add.reduceat(gradient * residual, first, axis=1).T
            rss = np.add.reduceat(residual**2, first)
            broken = ~np.isfinite(rss + slope.sum(axis=1) + cross.sum(axis=(1, 2)))
        rss[broken], slope[broken], cross[broken] = np.inf, 0.0, 0.0
        return rss, slope, cross

    def _rows(self, which: np.ndarray) -> slice | np.ndarray:
        if len(which) == len(self.sizes):
            return slice(None)
        chosen = np.zeros(len(self.sizes), bool)
        chosen[which] = True
        return np.repeat(chosen, self.sizes)


@dataclass(frozen=True)
class Solution:
    """Where each of the problems stands.

    Parameters
    ----------
    theta : (problems, parameters)
    rss : (problems,), residual sum of squares
    slope : (problems, parameters), J'r at theta
    cross : (problems, parameters, parameters), J'J at theta
    settled : (problems,), whether a least was found inside the bounds
    """

    theta: Array
    rss: Array
    slope: Array
    cross: Array
    settled: np.ndarray


def least_squares(problems: Problems, start: Array) -> Solution:
    """Parameters of each problem that make its sum of (y - model(x, theta))² least.

    A step solves (J'J + d diag(J'J)) step = J'r; d falls where the step kept what it promised and grows where
    it did not (Marquardt 1963; the rule of growth after Nielsen 1999, from memory). A step that leaves the
    bounds, or to where the model is not finite, is refused like one that makes the fit worse.

    Parameters
    ----------
    problems : what is to be fitted
    start : (problems, parameters), first values, inside the bounds

    Examples
    --------
    >>> line = lambda x, theta: (theta[0] + theta[1] * x, np.stack([np.ones_like(x), x]))
    >>> x, y, wide = np.array([0.0, 1, 2, 0, 1]), np.array([1.0, 3, 5, 0, 4]), np.full((2, 2), 9.0)
    >>> two_lines = Problems(line, x, y, np.array([3, 2]), -wide, wide, np.full(2, 1e-9))
    >>> found = least_squares(two_lines, np.zeros((2, 2)))
    >>> found.theta.round(6).tolist(), found.settled.tolist()
    ([[1.0, 2.0], [0.0, 4.0]], [True, True])
    """
    every = np.arange(len(start))
    now = Solution(start.copy(), *problems.measure(every, start), np.zeros(len(start), bool))
    damping, growth = np.full(len(start), 1e-3), np.full(len(start), 2.0)
    rounding = problems.sizes * problems.fine**2
    busy = every[np.isfinite(now.rss)]
    for _ in range(MOST_STEPS):
        step = solve(now.cross[busy], now.slope[busy], damping[busy])
        now.settled[busy] = _settled(now, busy, step, rounding)
        going = ~now.settled[busy] & (damping[busy] < STUCK)
        busy, step = busy[going], step[going]
        if not busy.size:
            break
        kept = _advance(problems, now, busy, step)
        damping[busy] *= np.where(kept > 0, np.clip(1 - (2 * kept - 1) ** 3, 0.1, 2), growth[busy])
        growth[busy] = np.where(kept > 0, 2, growth[busy] * 2)
    return now


def solve(cross: Array, slope: Array, damping: Array | float) -> Array:
    """Steps (J'J + damping diag(J'J))⁻¹ J'r, (problems, parameters), worked on columns of length one."""
    scaled, length = unit_columns(cross)
    # Never quite undamped, so that columns which say the same give no step instead of an error.
    scaled += np.multiply.outer(np.maximum(damping, ROUNDING), np.eye(slope.shape[1]))
    return np.linalg.solve(scaled, (slope / length)[..., None])[..., 0] / length


def unit_columns(cross: Array) -> tuple[Array, Array]:
    """J'J of columns scaled to length one, and the lengths (one where a column is as good as zero)."""
    length = np.sqrt(np.diagonal(cross, axis1=1, axis2=2))
    length = np.where(length > 1e-100, length, 1.0)
    return cross / (length[:, :, None] * length[:, None, :]), length


def _settled(now: Solution, busy: np.ndarray, step: Array, rounding: Array) -> np.ndarray:
    """Whether an undamped step promises less than OFFSET² of the scatter; asked where the damped one does."""
    enough = OFFSET**2 * (now.rss + rounding)[busy]
    settled = np.sum(now.slope[busy] * step, axis=1) <= enough
    near = busy[settled]
    undamped = solve(now.cross[near], now.slope[near], 0.0)
    settled[settled] = np.sum(now.slope[near] * undamped, axis=1) <= enough[settled]
    return settled


def _advance(problems: Problems, now: Solution, busy: np.ndarray, step: Array) -> Array:
    """Take the steps that make the fit better; which share of the promised gain each kept (-1: refused)."""
    theta = now.theta[busy] + step
    inside = np.all((theta >= problems.low[busy]) & (theta <= problems.high[busy]), axis=1)
    theta = np.where(inside[:, None], theta, now.theta[busy])
    rss, slope, cross = problems.measure(busy, theta)
    promised = 2 * np.sum(now.slope[busy] * step, axis=1)
    promised -= np.einsum("ni,nij,nj->n", step, now.cross[busy], step)
    gain, least = now.rss[busy] - rss, ROUNDING * now.rss[busy]
    # Where the promise is below rounding the gain cannot be measured, and the step is believed.
    kept = np.where((promised < least) & (gain > -least), 1.0, gain / promised)
    taken = inside & (kept > 0)
    for old, new in ((now.theta, theta), (now.rss, rss), (now.slope, slope), (now.cross, cross)):
        old[busy[taken]] = new[taken]
    return np.where(taken, np.minimum(kept, 2.0), -1.0)
