"""Draws from the posterior: from a normal in each cell of a grid of standard deviations, weighed one by one."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.rates.pooling.density import evaluate
from analysis.rates.pooling.design import Array, Index
from analysis.rates.pooling.grid import AT_ONCE, Grid, lay_grid, log_prior_of_roots
from analysis.rates.pooling.model import Model

if TYPE_CHECKING:
    from scipy.stats.qmc import Sobol

# Powers of two, as Sobol's sequence wants, by how many groups there are.
DRAWS, MOST_DRAWS = {1: 8192, 2: 8192, 3: 4096}, 32768
# Fewer draws of equal weight than this ask for more draws; where effects of other groups are many, even numbers fill
# the space less evenly, so that more are asked for.
ENOUGH, ENOUGH_OF_MANY, MANY = 2000.0, 6000.0, 15
FREEDOM, WIDER, EVEN = 15.0, 1.05, 0.05
# Beyond so many effects of the groups but the first, draws are not weighed one by one.
LARGE, LARGE_DRAWS = 60, 4096
# So many shares of nodes are kept; beyond, they are worked out a second time.
KEPT = 40_000_000


@dataclass(frozen=True)
class Part:
    """Draws, by number, with a model whose nodes suit them, and what it says of them if that is kept."""

    at: Index
    model: Model
    share: Array | None
    failed: Array | None


@dataclass(frozen=True)
class Draws:
    """Weighted draws: x (draws, size), sds (draws, groups), and weights (draws,) that sum to one; `parts` of them.

    `ess`: how many even draws these are worth. `exact`: weighed by the posterior, not by the cell's normal alone.
    """

    x: Array
    sds: Array
    weights: Array
    parts: tuple[Part, ...]
    ess: float
    exact: bool

    def within(self, part: Part) -> tuple[Array, Array]:
        """Shares of the nodes of each level, and each lost clutch's chance that it failed whole, in this part."""
        if part.share is not None and part.failed is not None:
            return part.share, part.failed
        _, share, failed = evaluate(part.model, self.x[part.at], self.sds[part.at])
        return share, failed


def is_large(m: Model) -> bool:
    """Whether weighing draw by draw would leave too few that count."""
    return m.inner > LARGE


def draw(m: Model, seed: int, *, large: bool) -> Draws:
    """Draw from the posterior; `large`: from the cells' normals as they are (nested Laplace)."""
    grid = lay_grid(m)
    if large:
        cell, roots, z, _ = _spread(grid, _chances(grid), _even(m, seed).random(LARGE_DRAWS // 2))
        x = _in_cells(grid, cell, z)
        weights = np.exp(_between(grid, roots) - grid.log_weight[cell])
        parts = tuple(Part(at, near, None, None) for at, near in _split(m, roots[:, 0] ** 2))
        return _draws(x, roots, weights, parts, exact=False)
    return _weighed(m, grid, seed)


def _chances(grid: Grid) -> Array:
    chance = np.exp(grid.log_weight - grid.log_weight.max())
    return np.asarray(chance / chance.sum())


def _between(grid: Grid, roots: Array) -> Array:
    """The log weight between the middles of cells, in straight lines, (draws,)."""
    from scipy.interpolate import RegularGridInterpolator

    axes = [np.unique(axis) for axis in (grid.low + grid.width / 2).T]
    table = grid.log_weight.reshape([len(axis) for axis in axes])
    return np.asarray(RegularGridInterpolator(axes, table, bounds_error=False, fill_value=None)(roots))


def _even(m: Model, seed: int) -> "Sobol":
    """Even numbers, a row a pair of draws: those of many draws begin with those of few."""
    from scipy.stats import qmc

    return qmc.Sobol(2 + len(m.design.groups) + m.size, rng=seed)


def _spread(grid: Grid, chance: Array, even: Array) -> tuple[Index, Array, Array, Array]:
    """Cell, roots of the standard deviations, normal deviates and one more even number of each draw, two of a row."""
    from scipy.special import ndtri

    groups = grid.low.shape[1]
    even = even.repeat(2, axis=0)
    cell = np.minimum(np.searchsorted(np.cumsum(chance), even[:, 0]), len(chance) - 1)
    roots = grid.low[cell] + grid.width * even[:, 1 : 1 + groups]
    z = ndtri(even[:, 2 + groups :])
    z[1::2] *= -1
    return cell, roots, z, even[:, 1 + groups]


def _in_cells(grid: Grid, cell: Index, z: Array) -> Array:
    """The x that these deviates stand for, (draws, size): all of a cell at once, each root being read once."""
    turn = np.argsort(cell, kind="stable")
    found, ends = np.empty_like(z), np.searchsorted(cell[turn], np.arange(len(grid.low) + 1))
    for number in np.unique(cell):
        at = turn[ends[number] : ends[number + 1]]
        found[at] = grid.mode[number] + z[at] @ grid.root[number].T
    return found


def _weighed(m: Model, grid: Grid, seed: int) -> Draws:
    """Draw until the draws are worth enough, each weighed by the posterior over the chance it was drawn with."""
    draws, even, parts = DRAWS[len(m.design.groups)], _even(m, seed), list[Part]()
    x, roots, log_weight = np.zeros((0, m.size)), np.zeros((0, len(m.design.groups))), np.zeros(0)
    enough = ENOUGH if m.inner <= MANY else ENOUGH_OF_MANY
    while True:
        new_x, new_roots, log_drawn = _proposed(m, grid, even.random((draws - len(x)) // 2))
        log, new = _evaluated(m, new_x, new_roots, len(x), draws)
        x, roots = np.concatenate([x, new_x]), np.concatenate([roots, new_roots])
        log_weight = np.concatenate([log_weight, log + log_prior_of_roots(new_roots) - log_drawn])
        parts += new
        found = _draws(x, roots, np.exp(log_weight - log_weight.max()), tuple(parts), exact=True)
        if found.ess >= enough or draws >= MOST_DRAWS:
            return found
        draws *= 2


def _proposed(m: Model, grid: Grid, even: Array) -> tuple[Array, Array, Array]:
    """x, roots of the standard deviations, and the log chance with which each was drawn: Student's t in each cell."""
    from scipy.special import chdtri

    chance = (1 - EVEN) * _chances(grid) + EVEN / len(grid.low)
    cell, roots, z, last = _spread(grid, chance, even)
    z = z / np.sqrt(chdtri(FREEDOM, last) / FREEDOM)[:, None]
    drawn = np.log(chance) - np.linalg.slogdet(grid.root)[1]
    far = drawn[cell] - 0.5 * (FREEDOM + m.size) * np.log1p(np.sum(z**2, axis=1) / FREEDOM)
    return _in_cells(grid, cell, WIDER * z), roots, far


def _evaluated(m: Model, x: Array, roots: Array, begin: int, draws: int) -> tuple[Array, list[Part]]:
    """The log posterior of draws, and their parts; `begin`: the number of the first, `draws`: how many there are."""
    sds, log, parts = roots**2, np.empty(len(x)), []
    for at, near in _split(m, sds[:, 0]):
        value, share, failed = evaluate(near, x[at], sds[at])
        log[at] = value
        few = draws * share[0].size <= KEPT
        parts.append(Part(begin + at, near, share if few else None, failed if few else None))
    return log, parts


def _split(m: Model, sd: Array) -> list[tuple[Index, Model]]:
    """Draws by number, those together whose first standard deviations are alike, and the model with their nodes."""
    turn, begin, found = np.argsort(sd), 0, []
    while begin < len(sd):
        near = m.near(float(sd[turn[begin]]))
        nodes = len(near.u) + (m.never_own.shape[1] if m.options.never else 0)
        at = turn[begin : begin + max(1, AT_ONCE // (len(m.design.tried) * nodes))]
        found.append((at, m.near(float(sd[at[-1]]))))
        begin += len(at)
    return found


def evenly_weighed(m: Model, x: Array, roots: Array) -> Draws:
    """Draws of the posterior itself."""
    parts = tuple(Part(at, near, None, None) for at, near in _split(m, roots[:, 0] ** 2))
    return _draws(x, roots, np.ones(len(x)), parts, exact=True)


def _draws(x: Array, roots: Array, weights: Array, parts: tuple[Part, ...], *, exact: bool) -> Draws:
    weights /= weights.sum()
    return Draws(x, roots**2, weights, parts, float(1 / np.sum(weights**2)), exact)
