"""Draws from the posterior: a grid of standard deviations, a normal in each cell, and draws weighed one by one."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.density import (
    NEVER,
    NEVER_APART,
    NEVER_LOGIT,
    SD_SCALE,
    Model,
    inv_logit,
    log_posterior,
    shares_of,
    slopes,
)
from analysis.rates.pooling.design import Array, Index

# Even in the root of the standard deviations, from 0 to here.
WIDEST = 2.1
# Points along each, by how many there are: laid wide once, then again over what counts of it.
WIDE, CLOSE = {1: 9, 2: 6, 3: 4}, {1: 16, 2: 10, 3: 6}
COUNTS = 3e-5
# Numbers in one array at a time, so that they stay in the processor's own memory.
AT_ONCE = 250_000
# Newton's steps: how many at most, how far one may go, when to stop, and the least curvature believed.
STEPS, FARTHEST, STOP, LEAST_CURVED = 25, 3.0, 3e-3, 0.1
# Powers of two, as Sobol's sequence wants, by how many groups there are.
DRAWS, MOST_DRAWS = {1: 8192, 2: 8192, 3: 4096}, 32768
# Fewer draws of equal weight than this ask for more draws.
ENOUGH = 2000.0
FREEDOM, WIDER, EVEN = 15.0, 1.05, 0.05
EVEN_DRAWS = 4000  # of equal weight
# Beyond so many levels of the first group, or effects of the others, draws are not weighed one by one.
LARGE = 60
LARGE_WIDE, LARGE_CLOSE, LARGE_DRAWS = {1: 7, 2: 4, 3: 3}, {1: 12, 2: 7, 3: 4}, 2048


@dataclass(frozen=True)
class Draws:
    """Weighted draws: x (draws, size), sds (draws, groups), and weights (draws,) that sum to one.

    `ess`: how many even draws these are worth. `exact`: weighed by the posterior, not by the cell's normal alone.
    """

    x: Array
    sds: Array
    weights: Array
    ess: float
    exact: bool


@dataclass(frozen=True)
class Even:
    """Draws of equal weight: `sd` and `effects` (draws, levels) of each group, on the logit; shares None where off.

    `never` (draws, levels of the first group): the rate of a level that never works in that draw, else NaN.
    """

    mu: Array
    sd: dict[str, Array]
    effects: dict[str, Array]
    never: Array
    share_never: Array | None
    failing: Array | None
    scatter: Array | None

    def rates(self, at: dict[str, int | None], first: str, rng: np.random.Generator) -> Array:
        """Rates of these levels together; None: a level that was never seen."""
        eta, never = self.mu.copy(), np.full(len(self.mu), np.nan)
        for group, number in at.items():
            if number is not None:
                eta = eta + self.effects[group][:, number]
                never = self.never[:, number] if group == first else never
                continue
            eta = eta + self.sd[group] * rng.standard_normal(len(eta))
            if group == first and self.share_never is not None:
                out = rng.random(len(eta)) < self.share_never
                never = np.where(out, rng.beta(*NEVER, len(eta)), np.nan)
        return np.where(np.isnan(never), inv_logit(eta), never)


@dataclass(frozen=True)
class _Grid:
    """Cells of the roots of the standard deviations, and a normal in each.

    `low` (cells, groups) and `width` (groups,); `mode` (cells, size), the mean of x, and `root` (cells, size, size), of
    its covariance; `log_weight` (cells,), of the posterior probability as these normals have it, up to a constant.
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


def _log_prior_of_roots(roots: Array) -> Array:
    """Log prior density of the roots of the standard deviations, (..., groups), constants left out."""
    return np.asarray(np.sum(-0.5 * (roots**2 / SD_SCALE) ** 2 + np.log(roots), axis=-1))


def _lay_grid(m: Model, wide: int, close: int) -> _Grid:
    """Find where the standard deviations may lie, and lay cells over that."""
    groups = len(m.design.groups)
    edges, middle = _cells(np.tile([0.0, WIDEST], (groups, 1)), wide)
    start = np.zeros(m.size)
    worked, tried = m.design.worked.sum(), m.design.tried.sum()
    start[0] = np.log((worked + 1) / (tried - worked + 1))
    mode, _, log_weight = _normals(m, middle, start)
    table = (log_weight + _log_prior_of_roots(middle)).reshape([wide] * groups)
    limits = np.empty((groups, 2))
    for axis in range(groups):
        along = table.max(axis=tuple(other for other in range(groups) if other != axis))
        counts = np.flatnonzero(along > along.max() + np.log(COUNTS))
        limits[axis] = edges[axis, [counts[0], counts[-1] + 1]]
    edges, middle = _cells(limits, close)
    mode, root, log_weight = _normals(m, middle, mode[table.argmax()])
    width = edges[:, 1] - edges[:, 0]
    return _Grid(middle - width / 2, width, mode, root, log_weight + _log_prior_of_roots(middle))


def _cells(limits: Array, points: int) -> tuple[Array, Array]:
    """Edges along each axis, (groups, points + 1), and the middles of all cells, (cells, groups)."""
    edges = np.linspace(limits[:, 0], limits[:, 1], points + 1).T
    middle = np.meshgrid(*((axis[1:] + axis[:-1]) / 2 for axis in edges), indexing="ij")
    return edges, np.stack(middle, axis=-1).reshape(-1, len(limits))


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
        step = _safe_step(gradient[active], -hessian[active], ridge[active])
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


def _safe_step(gradient: Array, curved: Array, ridge: Array) -> Array:
    least = np.linalg.eigvalsh(curved)[:, 0]
    more = np.maximum(ridge, np.where(least < LEAST_CURVED / 2, LEAST_CURVED / 2 - least, 0.0))
    step = np.linalg.solve(curved + more[:, None, None] * np.eye(curved.shape[1]), gradient[..., None])[..., 0]
    return np.asarray(step / np.maximum(np.abs(step).max(axis=1) / FARTHEST, 1.0)[:, None])


def is_large(m: Model) -> bool:
    """Whether weighing draw by draw would leave too few that count."""
    return m.design.sizes[0] > LARGE or m.inner > LARGE


def draw(m: Model, seed: int, *, large: bool) -> Draws:
    """Draw from the posterior; `large`: from the cells' normals as they are (nested Laplace)."""
    groups = len(m.design.groups)
    if large:
        grid = _lay_grid(m, LARGE_WIDE[groups], LARGE_CLOSE[groups])
        cell, roots, z, _ = _spread(m, grid, _chances(grid), LARGE_DRAWS, seed)
        x = grid.mode[cell] + np.einsum("nij,nj->ni", grid.root[cell], z)
        return _draws(x, roots, np.exp(grid.within(roots) - grid.log_weight[cell]), exact=False)
    grid, draws = _lay_grid(m, WIDE[groups], CLOSE[groups]), DRAWS[groups]
    found = _weighed(m, grid, draws, seed)
    while found.ess < ENOUGH and draws < MOST_DRAWS:
        draws *= 2
        found = _weighed(m, grid, draws, seed)
    return found


def _chances(grid: _Grid) -> Array:
    chance = np.exp(grid.log_weight - grid.log_weight.max())
    return np.asarray(chance / chance.sum())


def _spread(m: Model, grid: _Grid, chance: Array, draws: int, seed: int) -> tuple[Array, Array, Array, Array]:
    """Cell, roots of the standard deviations, normal deviates and one more even number of each draw."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    groups = grid.low.shape[1]
    even = qmc.Sobol(2 + groups + m.size, rng=seed).random(draws)
    cell = np.minimum(np.searchsorted(np.cumsum(chance), even[:, 0]), len(chance) - 1)
    roots = grid.low[cell] + grid.width * even[:, 1 : 1 + groups]
    return cell, roots, ndtri(even[:, 2 + groups :]), even[:, 1 + groups]


def _weighed(m: Model, grid: _Grid, draws: int, seed: int) -> Draws:
    from scipy.special import chdtri

    chance = (1 - EVEN) * _chances(grid) + EVEN / len(grid.low)
    cell, roots, z, even = _spread(m, grid, chance, draws, seed)
    z = z / np.sqrt(chdtri(FREEDOM, even) / FREEDOM)[:, None]
    x = grid.mode[cell] + WIDER * np.einsum("nij,nj->ni", grid.root[cell], z)
    drawn = np.log(chance) - np.linalg.slogdet(grid.root)[1]
    log_drawn = drawn[cell] - 0.5 * (FREEDOM + m.size) * np.log1p(np.sum(z**2, axis=1) / FREEDOM)
    step = at_once(m)
    parts = (slice(i, i + step) for i in range(0, len(x), step))
    log = np.concatenate([log_posterior(m, x[part], roots[part] ** 2)[0] for part in parts])
    log_weight = log + _log_prior_of_roots(roots) - log_drawn
    return _draws(x, roots, np.exp(log_weight - log_weight.max()), exact=True)


def _draws(x: Array, roots: Array, weights: Array, *, exact: bool) -> Draws:
    weights /= weights.sum()
    return Draws(x, roots**2, weights, float(1 / np.sum(weights**2)), exact)


def at_once(m: Model) -> int:
    """How many draws fit in memory at a time."""
    nodes = len(m.u) + (m.never_rows.shape[1] if m.options.never else 0)
    return max(1, AT_ONCE // (len(m.design.tried) * nodes))


def resampled(draws: Draws, seed: int) -> Index:
    """As how many even draws each draw is taken."""
    even = (np.arange(EVEN_DRAWS) + np.random.default_rng([seed, 1]).random()) / EVEN_DRAWS
    at = np.searchsorted(np.cumsum(draws.weights), even)
    return np.bincount(np.minimum(at, len(draws.x) - 1), minlength=len(draws.x))


def even_draws(m: Model, draws: Draws, times: Index, node: Index, rng: np.random.Generator) -> Even:
    """Put together what was drawn, shuffled: of the first group its nodes, moved evenly about them."""
    turn = rng.permutation(len(node))
    x, sds, node = draws.x.repeat(times, axis=0)[turn], draws.sds.repeat(times, axis=0)[turn], node[turn]
    nodes, apart = len(m.u), m.u[1] - m.u[0]
    u = m.u[np.minimum(node, nodes - 1)] + apart * (rng.random(node.shape) - 0.5)
    out = node >= nodes
    logit = NEVER_LOGIT[np.maximum(node - nodes, 0)] + NEVER_APART * (rng.random(node.shape) - 0.5)
    shares = shares_of(m, x)
    first, *others = m.design.groups
    effects = {first: np.where(out, -np.inf, sds[:, :1] * u)}
    for number, (group, part) in enumerate(zip(others, m.effects, strict=True), start=1):
        effects[group] = sds[:, number, None] * x[:, part]
    return Even(
        mu=x[:, 0],
        sd={group: sds[:, number] for number, group in enumerate(m.design.groups)},
        effects=effects,
        never=np.where(out, inv_logit(logit), np.nan),
        share_never=None if shares.never is None else inv_logit(shares.never),
        failing=None if shares.failing is None else inv_logit(shares.failing),
        scatter=None if shares.theta is None else shares.theta / (1 + shares.theta),
    )
