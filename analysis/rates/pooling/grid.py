"""A grid of standard deviations, and a normal about the mode of everything else in each of its cells."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.density import slopes
from analysis.rates.pooling.design import Array
from analysis.rates.pooling.model import SD_SCALE, Model

# Even in the root of the standard deviations, from 0 to here.
WIDEST = 2.1
# Points along each, by how many there are: laid wide once, then again over what counts of it.
WIDE, CLOSE = {1: 9, 2: 6, 3: 4}, {1: 16, 2: 10, 3: 6}
COUNTS = 3e-5
# Numbers in one array at a time, so that they stay in the processor's own memory.
AT_ONCE = 250_000
# Newton's steps: how many at most, how far one may go, when to stop, and the least curvature believed. How many steps
# the costly part of the curvature is kept.
STEPS, FARTHEST, STOP, LEAST_CURVED, KEEP = 25, 3.0, 0.02, 0.1, 5


@dataclass(frozen=True)
class Grid:
    """Cells of the roots of the standard deviations, and a normal in each.

    `low` (cells, groups) and `width` (groups,); `mode` (cells, size), the mean of x, and `root` (cells, size, size), of
    its covariance; `log_weight` (cells,), of the posterior probability as these normals have it, up to a constant.
    """

    low: Array
    width: Array
    mode: Array
    root: Array
    log_weight: Array


def log_prior_of_roots(roots: Array) -> Array:
    """Log prior density of the roots of the standard deviations, (..., groups), constants left out."""
    return np.asarray(np.sum(-0.5 * (roots**2 / SD_SCALE) ** 2 + np.log(roots), axis=-1))


def lay_grid(m: Model) -> Grid:
    """Find where the standard deviations may lie, and lay cells over that."""
    groups = len(m.design.groups)
    wide, close = WIDE[groups], CLOSE[groups]
    edges, middle = _cells(np.tile([0.0, WIDEST], (groups, 1)), wide)
    start = np.zeros(m.size)
    worked, tried = m.design.worked.sum(), m.design.tried.sum()
    start[0] = np.log((worked + 1) / (tried - worked + 1))
    mode, hessian, _, log_weight = _normals(m, middle, np.tile(start, (len(middle), 1)), None)
    table = (log_weight + log_prior_of_roots(middle)).reshape([wide] * groups)
    limits = np.empty((groups, 2))
    for axis in range(groups):
        along = table.max(axis=tuple(other for other in range(groups) if other != axis))
        counts = np.flatnonzero(along > along.max() + np.log(COUNTS))
        limits[axis] = edges[axis, [counts[0], counts[-1] + 1]]
    wider, (edges, middle) = middle, _cells(limits, close)
    near = np.abs(middle[:, None] - wider).sum(axis=2).argmin(axis=1)
    mode, _, root, log_weight = _normals(m, middle, mode[near], hessian[near])
    width = edges[:, 1] - edges[:, 0]
    return Grid(middle - width / 2, width, mode, root, log_weight + log_prior_of_roots(middle))


def _cells(limits: Array, points: int) -> tuple[Array, Array]:
    """Edges along each axis, (groups, points + 1), and the middles of all cells, (cells, groups)."""
    edges = np.linspace(limits[:, 0], limits[:, 1], points + 1).T
    middle = np.meshgrid(*((axis[1:] + axis[:-1]) / 2 for axis in edges), indexing="ij")
    return edges, np.stack(middle, axis=-1).reshape(-1, len(limits))


def _normals(m: Model, roots: Array, start: Array, near_by: Array | None) -> tuple[Array, Array, Array, Array]:
    """Mode, Hessian, root and log evidence of cells in the order of the first group's standard deviation.

    `start`, `near_by`: a mode and Hessian from near by of each.
    """
    found, begin, rows = [], 0, max(len(m.pairs[0]), len(m.design.tried))
    all_at_once = AT_ONCE // (rows * max(len(m.u), m.inner))
    while begin < len(roots):
        near = m.near(float(roots[begin, 0] ** 2))
        at_once = max(1, AT_ONCE // (rows * max(len(near.u), m.inner)))
        alike = int(np.searchsorted(roots[begin:, 0], 1.15 * roots[begin, 0] + 0.1, side="right"))
        part = slice(begin, begin + (min(at_once, alike) if all_at_once < len(roots) else len(roots)))
        outer, nodes = None if near_by is None else near_by[part], m.near(float(roots[part, 0].max() ** 2))
        found.append(_climb(nodes, start[part], roots[part] ** 2, outer))
        begin = part.stop
    mode, hessian, root, log_weight = (np.concatenate(part) for part in zip(*found, strict=True))
    return mode, hessian, root, log_weight


def _climb(m: Model, start: Array, sds: Array, outer: Array | None) -> tuple[Array, Array, Array, Array]:
    """Newton's way up to the mode for each of `sds`, steps made short and safe; as `_normals` has it."""
    x, ridge, active = start.copy(), np.zeros(len(sds)), np.arange(len(sds))
    value, gradient, hessian = slopes(m, x, sds, outer)
    for number in range(1, STEPS + 1):
        step = _safe_step(gradient[active], -hessian[active], ridge[active])
        trial = x[active] + step
        found = slopes(m, trial, sds[active], hessian[active] if number % KEEP else None)
        better = found[0] >= value[active] - 1e-9
        took, worse = active[better], active[~better]
        x[took], value[took], gradient[took], hessian[took] = trial[better], *(part[better] for part in found)
        ridge[took] /= 10
        ridge[worse] = np.maximum(10 * ridge[worse], 1.0)
        active = active[~better | (np.abs(step).max(axis=1) > STOP)]
        if not len(active):
            break
    if m.outer:
        hessian = slopes(m, x, sds)[2]
    curved, axes = np.linalg.eigh(-hessian)
    curved = np.maximum(curved, LEAST_CURVED)
    return x, hessian, axes / np.sqrt(curved)[:, None, :], value - 0.5 * np.log(curved).sum(axis=1)


def _safe_step(gradient: Array, curved: Array, ridge: Array) -> Array:
    least = np.linalg.eigvalsh(curved)[:, 0]
    more = np.maximum(ridge, np.where(least < LEAST_CURVED / 2, LEAST_CURVED / 2 - least, 0.0))
    step = np.linalg.solve(curved + more[:, None, None] * np.eye(curved.shape[1]), gradient[..., None])[..., 0]
    return np.asarray(step / np.maximum(np.abs(step).max(axis=1) / FARTHEST, 1.0)[:, None])
