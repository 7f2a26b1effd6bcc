"""A grid over the standard deviations, with the normal that is near the posterior of x at each of its points."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array
from analysis.rates.pooling.model import SD_SCALE, Model
from analysis.rates.pooling.posterior import slopes

# Even in the root of the standard deviations, from 0 to here.
WIDEST = 2.1
# Points along each, by how many there are: laid wide once, then again over what counts of it.
WIDE, CLOSE = {1: 9, 2: 6, 3: 4}, {1: 16, 2: 10, 3: 6}
COUNTS = 3e-5
# Numbers in one array at a time, so that they stay in the processor's own memory.
AT_ONCE = 250_000
# Newton's steps: how many at most, how far one may go, when to stop, and the least curvature believed.
STEPS, FARTHEST, STOP, LEAST_CURVED = 25, 3.0, 3e-3, 0.1


@dataclass(frozen=True)
class Grid:
    """Cells of the roots of the standard deviations, and a normal in each.

    Parameters
    ----------
    low, width : (cells, groups), (groups,)
    mode, root : (cells, size), (cells, size, size) mean of x, and a root of its covariance
    log_weight : (cells,) log of the posterior probability of each cell, as these normals have it, up to a constant
    """

    low: Array
    width: Array
    mode: Array
    root: Array
    log_weight: Array

    def within(self, roots: Array) -> Array:
        """The log weight between the middles of cells, in straight lines, (draws,)."""
        from scipy.interpolate import RegularGridInterpolator

        axes = [np.unique(axis) for axis in (self.low + self.width / 2).T]
        table = self.log_weight.reshape([len(axis) for axis in axes])
        return np.asarray(RegularGridInterpolator(axes, table, bounds_error=False, fill_value=None)(roots))


def log_prior(roots: Array) -> Array:
    """Log prior density of the roots of the standard deviations, (..., groups), constants left out."""
    return np.asarray(np.sum(-0.5 * (roots**2 / SD_SCALE) ** 2 + np.log(roots), axis=-1))


def lay_grid(m: Model, wide: int, close: int) -> Grid:
    """Find where the standard deviations may lie, and lay cells over that."""
    groups = len(m.design.groups)
    edges, middle = _cells(np.tile([0.0, WIDEST], (groups, 1)), wide)
    start = np.zeros(m.size)
    worked, tried = m.design.worked.sum(), m.design.tried.sum()
    start[0] = np.log((worked + 1) / (tried - worked + 1))
    mode, _, log_weight = _normals(m, middle, start)
    table = (log_weight + log_prior(middle)).reshape([wide] * groups)
    limits = np.array([_counting(table, axis, edges[axis]) for axis in range(groups)])
    edges, middle = _cells(limits, close)
    mode, root, log_weight = _normals(m, middle, mode[table.argmax()])
    width = edges[:, 1] - edges[:, 0]
    return Grid(middle - width / 2, width, mode, root, log_weight + log_prior(middle))


def _cells(limits: Array, points: int) -> tuple[Array, Array]:
    """Edges along each axis, (groups, points + 1), and the middles of all cells, (cells, groups)."""
    edges = np.linspace(limits[:, 0], limits[:, 1], points + 1).T
    middle = np.meshgrid(*((axis[1:] + axis[:-1]) / 2 for axis in edges), indexing="ij")
    return edges, np.stack(middle, axis=-1).reshape(-1, len(limits))


def _counting(table: Array, axis: int, edges: Array) -> Array:
    """The part of an axis that counts."""
    along = table.max(axis=tuple(other for other in range(table.ndim) if other != axis))
    counts = np.flatnonzero(along > along.max() + np.log(COUNTS))
    return edges[[counts[0], counts[-1] + 1]]


def _normals(m: Model, roots: Array, start: Array) -> tuple[Array, Array, Array]:
    at_once = max(1, AT_ONCE // (max(len(m.pairs[0]), len(m.design.tried)) * max(len(m.u), m.inner)))
    found = [_climb(m, start, roots[i : i + at_once] ** 2) for i in range(0, len(roots), at_once)]
    mode, root, log_weight = (np.concatenate(part) for part in zip(*found, strict=True))
    return mode, root, log_weight


def _climb(m: Model, start: Array, sds: Array) -> tuple[Array, Array, Array]:
    """Newton's way up to the mode for each of `sds`, steps made short and safe; mode, root and log evidence."""
    x, ridge, active = np.tile(start, (len(sds), 1)), np.zeros(len(sds)), np.arange(len(sds))
    value, gradient, hessian = slopes(m, x, sds)
    for _ in range(STEPS):
        step = _step(gradient[active], -hessian[active], ridge[active])
        trial = x[active] + step
        found = slopes(m, trial, sds[active])
        better = found[0] >= value[active] - 1e-9
        took, worse = active[better], active[~better]
        x[took], value[took], gradient[took], hessian[took] = trial[better], *(part[better] for part in found)
        ridge[took] /= 10
        ridge[worse] = np.maximum(10 * ridge[worse], 1.0)
        active = active[~better | (np.abs(step).max(axis=1) > STOP)]
        if not len(active):
            break
    curved, axes = np.linalg.eigh(-hessian)
    curved = np.maximum(curved, LEAST_CURVED)
    return x, axes / np.sqrt(curved)[:, None, :], value - 0.5 * np.log(curved).sum(axis=1)


def _step(gradient: Array, curved: Array, ridge: Array) -> Array:
    least = np.linalg.eigvalsh(curved)[:, 0]
    more = np.maximum(ridge, np.where(least < LEAST_CURVED / 2, LEAST_CURVED / 2 - least, 0.0))
    step = np.linalg.solve(curved + more[:, None, None] * np.eye(curved.shape[1]), gradient[..., None])[..., 0]
    return np.asarray(step / np.maximum(np.abs(step).max(axis=1) / FARTHEST, 1.0)[:, None])
