"""Weighted draws of all that is not integrated over: from about each cell's normal, weighed by the posterior."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array
from analysis.rates.pooling.grid import AT_ONCE, CLOSE, WIDE, Grid, lay_grid, log_prior
from analysis.rates.pooling.model import Model
from analysis.rates.pooling.posterior import log_posterior

# Powers of two, as Sobol's sequence wants, by how many groups there are.
DRAWS, MOST_DRAWS = {1: 8192, 2: 8192, 3: 4096}, 32768
# Fewer draws of equal weight than this ask for more draws.
ENOUGH = 2000.0
FREEDOM, WIDER, EVEN = 15.0, 1.05, 0.05
# Beyond so many levels of the first group, or effects of the others, draws are not weighed one by one.
LARGE = 60
LARGE_WIDE, LARGE_CLOSE, LARGE_DRAWS = {1: 7, 2: 4, 3: 3}, {1: 12, 2: 7, 3: 4}, 2048


@dataclass(frozen=True)
class Draws:
    """Weighted draws.

    Parameters
    ----------
    x : (draws, size)
    sds : (draws, groups)
    weights : (draws,), they sum to one
    ess : how many draws of equal weight these are worth
    exact : whether each was weighed by the posterior; else by its cell's alone
    """

    x: Array
    sds: Array
    weights: Array
    ess: float
    exact: bool


def is_large(m: Model) -> bool:
    """Whether weighing draw by draw would leave too few that count."""
    return m.design.sizes[0] > LARGE or m.inner > LARGE


def draw(m: Model, seed: int, *, large: bool) -> Draws:
    """Draw from the posterior; `large`: from the cells' normals as they are (nested Laplace)."""
    groups = len(m.design.groups)
    if large:
        return _nested(m, lay_grid(m, LARGE_WIDE[groups], LARGE_CLOSE[groups]), seed)
    grid, draws = lay_grid(m, WIDE[groups], CLOSE[groups]), DRAWS[groups]
    found = _weighed(m, grid, draws, seed)
    while found.ess < ENOUGH and draws < MOST_DRAWS:
        draws *= 2
        found = _weighed(m, grid, draws, seed)
    return found


def _chances(grid: Grid) -> Array:
    chance = np.exp(grid.log_weight - grid.log_weight.max())
    return np.asarray(chance / chance.sum())


def _spread(m: Model, grid: Grid, chance: Array, draws: int, seed: int) -> tuple[Array, Array, Array, Array]:
    """Cell, roots of the standard deviations, normal deviates and one more even number of each draw."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    groups = grid.low.shape[1]
    even = qmc.Sobol(2 + groups + m.size, rng=seed).random(draws)
    cell = np.minimum(np.searchsorted(np.cumsum(chance), even[:, 0]), len(chance) - 1)
    roots = grid.low[cell] + grid.width * even[:, 1 : 1 + groups]
    return cell, roots, ndtri(even[:, 2 + groups :]), even[:, 1 + groups]


def _weighed(m: Model, grid: Grid, draws: int, seed: int) -> Draws:
    from scipy.special import chdtri

    chance = (1 - EVEN) * _chances(grid) + EVEN / len(grid.low)
    cell, roots, z, even = _spread(m, grid, chance, draws, seed)
    z = z / np.sqrt(chdtri(FREEDOM, even) / FREEDOM)[:, None]
    x = grid.mode[cell] + WIDER * np.einsum("nij,nj->ni", grid.root[cell], z)
    drawn = np.log(chance) - np.linalg.slogdet(grid.root)[1]
    log_drawn = drawn[cell] - 0.5 * (FREEDOM + m.size) * np.log1p(np.sum(z**2, axis=1) / FREEDOM)
    log_weight = _in_parts(m, x, roots**2) + log_prior(roots) - log_drawn
    weights = np.exp(log_weight - log_weight.max())
    weights /= weights.sum()
    return Draws(x, roots**2, weights, float(1 / np.sum(weights**2)), True)


def _nested(m: Model, grid: Grid, seed: int) -> Draws:
    cell, roots, z, _ = _spread(m, grid, _chances(grid), LARGE_DRAWS, seed)
    x = grid.mode[cell] + np.einsum("nij,nj->ni", grid.root[cell], z)
    weights = np.exp(grid.within(roots) - grid.log_weight[cell])
    weights /= weights.sum()
    return Draws(x, roots**2, weights, float(1 / np.sum(weights**2)), False)


def at_once(m: Model) -> int:
    """How many draws fit in memory at a time."""
    nodes = len(m.u) + (m.never_rows.shape[1] if m.never else 0)
    return max(1, AT_ONCE // (len(m.design.tried) * nodes))


def _in_parts(m: Model, x: Array, sds: Array) -> Array:
    step = at_once(m)
    return np.concatenate([log_posterior(m, x[i : i + step], sds[i : i + step])[0] for i in range(0, len(x), step)])
