"""One group alone: everything integrated over a grid, mean x standard deviation x shares x scatter, by products.

The likelihood of each level stands on an even line of logits, for each share that fails and each scatter. For a mean
and a standard deviation a level's own logit has weights on that line, so that all levels, shares and scatters at once
are one product of matrices. The grid is laid wide once, then again over what counts of it, until
that is half of its cells or more.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array, Index
from analysis.rates.pooling.even import EVEN_DRAWS
from analysis.rates.pooling.grid import COUNTS, WIDEST, log_prior_of_roots
from analysis.rates.pooling.levels import ENDS, FINE, LINE, Levels, below_zero, ends_on_line, spread_out
from analysis.rates.pooling.model import NEVER_LOGIT, Model, inv_logit, never_log, shares_of
from analysis.rates.pooling.posterior import Draws, evenly_weighed
from analysis.rates.pooling.rows import failed_log, may_fail, rows_log

# Cells along each axis, wide and close. Shares and scatter stand as deviates that are normal beforehand.
CELLS = {"mu": (25, 28), "root": (9, 18), "failures": (6, 9), "scatter": (6, 9), "never": (6, 7)}
FAR_MEAN, FAR_SEEN, FAR, BEYOND = 4.5, 4.0, 6.0, 0.25
# The line: points apart by this share of the narrowest likelihood, and at most so far; how many standard deviations it
# reaches, and how far at most. A normal narrower than so many of its points is laid on it by cubic interpolation.
APART, AT_MOST, REACH, FARTHEST, NARROW = 0.35, 0.25, 5.5, 18.0, 1.5
# Numbers in the largest array beyond which drawing is cheaper.
MOST = 10_000_000

Axes = dict[str, Array]


@dataclass(frozen=True)
class Quadrature:
    """Middles of the cells along each axis, their weights, which sum to one, and what they say of levels.

    `weights`: (mu, root, failures, scatter, never). `failed`: each lost clutch's chance that it failed whole.
    """

    axes: Axes
    weights: Array
    levels: Levels
    failed: Array

    def along(self, name: str) -> Array:
        """Weights along one axis."""
        at = list(CELLS).index(name)
        return np.asarray(self.weights.sum(axis=tuple(other for other in range(len(CELLS)) if other != at)))

    def told(self, name: str, of: Callable[[Array], Array]) -> tuple[float, float, float]:
        """Mean and ends of the 95 % interval of what an axis stands for, which goes up with it."""
        from scipy.interpolate import CubicSpline

        axis, weights = self.axes[name], self.along(name)
        half = (axis[1] - axis[0]) / 2
        fine = np.linspace(axis[0] - half, axis[-1] + half, 2001)
        log = np.log(np.maximum(weights, 1e-12 * weights.max()))
        total = np.cumsum(np.exp(CubicSpline(axis, log)(fine)))
        low, high = of(np.interp(np.array(ENDS) * total[-1], total, fine))
        return float(weights @ of(axis)), float(low), float(high)


@dataclass(frozen=True)
class _Tables:
    """What a grid is worked out from.

    `line`; `own` (line, levels, failures, scatter), the likelihood of each level with its own rate; `never` (failures,
    levels, never nodes); both over the largest of each level. `lost`: log likelihood of lost rows, (failures, scatter,
    rows, line). `near`, `below`: weights on the line of an effect, and of one below 0, (cells, line).
    """

    line: Array
    own: Array
    never: Array
    lost: Array
    near: Array
    below: Array


def is_small(m: Model) -> bool:
    """Whether the group is alone, and the grid not too large."""
    cells = np.prod([CELLS[name][1] for name in ("mu", "root", *m.outer) if name != "never"])
    return len(m.design.groups) == 1 and bool(m.design.sizes[0] * cells <= MOST)


def quadrature(m: Model) -> Quadrature:
    """Integrate over the grid; the model must have one group."""
    most = float(np.add.reduceat(m.design.tried, m.design.first).max())
    step = min(AT_MOST, APART / np.sqrt(most / 4 + 1e-9), m.options.spread)
    far = FAR_MEAN * m.options.spread
    limits = {name: (-FAR, FAR) for name in m.outer}
    worked, tried = m.design.worked.sum(), m.design.tried.sum()
    seen = float(np.log((worked + 1) / (tried - worked + 1)))
    low, high = (sign * max(sign * (m.options.centre + sign * far), sign * seen + FAR_SEEN) for sign in (-1, 1))
    limits |= {"mu": (low, high), "root": (0.0, WIDEST)}
    for turn in (0, 1, 1, 1):
        axes = _axes(limits, turn, step)
        tables = _tables(m, axes, step)
        weights, over, out = _weights(m, axes, tables)
        if turn and all(2 * len(_counting(name, weights)) >= len(axes[name]) for name in limits):
            break
        limits = {name: _limits(name, axes[name], weights) for name in limits}
    return Quadrature(axes, weights, *_levels(m, axes, tables, over, out))


def _axes(limits: dict[str, tuple[float, float]], turn: int, step: float) -> Axes:
    """Middles of the cells; means stand on points of the line, and what is off has one cell."""
    axes: Axes = {}
    for name, cells in CELLS.items():
        low, high = limits.get(name, (0.0, 0.0))
        edges = np.linspace(low, high, cells[turn] + 1, dtype=np.float64)
        axes[name] = np.array((edges[1:] + edges[:-1]) / 2, dtype=np.float64) if name in limits else np.zeros(1)
    low, high = limits["mu"]
    each = max(1, int((high - low) / (CELLS["mu"][turn] * step)))
    points = np.arange(int(np.floor(low / step)), int(np.ceil(high / step)) + each, each, dtype=np.float64)
    axes["mu"] = np.multiply(step, points)
    return axes


def _counting(name: str, weights: Array) -> Index:
    """The cells along an axis whose weights count."""
    at = list(CELLS).index(name)
    along = weights.sum(axis=tuple(other for other in range(len(CELLS)) if other != at))
    return np.flatnonzero(along > COUNTS * along.max())


def _limits(name: str, axis: Array, weights: Array) -> tuple[float, float]:
    """Where the weights along an axis count, and a little beyond."""
    counts, cell = _counting(name, weights), axis[1] - axis[0]
    low, high = axis[counts[0]] - cell * (0.5 + BEYOND), axis[counts[-1]] + cell * (0.5 + BEYOND)
    return (max(low, 0.0) if name == "root" else low), high


def share_at(m: Model, name: str, x: Array) -> Array:
    """The share, of clutches that fail whole (failures) or levels that never work (never), that deviates stand for."""
    shares = shares_of(m, _x(m, **{name: x}))
    logit = shares.failing if name == "failures" else shares.never
    assert logit is not None
    return inv_logit(logit)


def _x(m: Model, **axes: Array) -> Array:
    """Coordinates x that have these deviates, all of one length."""
    x = np.zeros((len(next(iter(axes.values()))), m.size))
    for name, axis in axes.items():
        if name in m.outer:
            x[:, m.outer[name]] = axis
    return x


def _tables(m: Model, axes: Axes, step: float) -> _Tables:
    d, sds = m.design, axes["root"] ** 2
    low, high = axes["mu"][[0, -1]] + np.array([-1, 1]) * REACH * sds.max()
    low, high = max(low, min(-FARTHEST, axes["mu"][0])), min(high, max(FARTHEST, axes["mu"][-1]))
    number = np.arange(int(np.floor(low / step)), int(np.ceil(high / step)) + 1)
    line, scatters = np.asarray(step * number, float), len(axes["scatter"])
    theta = shares_of(m, _x(m, scatter=axes["scatter"])).theta
    failing = shares_of(m, _x(m, failures=axes["failures"])).failing
    plain = rows_log(d, np.broadcast_to(line, (scatters, len(d.tried), len(line))), None, theta)
    rows = plain[None]
    if failing is not None:
        rows = np.stack([may_fail(d, plain, np.full(scatters, q)) for q in failing])
    own, never = np.add.reduceat(rows, d.first, axis=2), never_log(m, failing)[0]
    top = own.max(axis=(0, 1, 3))
    if m.options.never:
        top = np.maximum(top, never.max(axis=(0, 2)))
    patterns = [_pattern(sd / step, len(line)) for sd in sds]
    away = number - np.rint(axes["mu"] / step).astype(int)[:, None] + len(line)
    near, below = (np.stack([part[at][away] for part in patterns], axis=1).reshape(-1, len(line)) for at in (0, 1))
    own = np.exp(own - top[:, None]).transpose(3, 2, 0, 1)
    return _Tables(line, own, np.exp(never - top[:, None]), rows[:, :, d.lost], near, below)


def _pattern(sd: float, points: int) -> tuple[Array, Array]:
    """Weights of a normal effect, and of its part below 0, at so many points of a line either way; sd in points."""
    if sd >= NARROW:
        away = np.arange(-points, points + 1.0)
        normal = np.exp(-0.5 * (away / sd) ** 2)
        return normal / normal.sum(), below_zero(away) * normal / normal.sum()
    u = np.linspace(-5, 5, 21)
    at, part = np.divmod(sd * u, 1)
    t, normal = part[:, None] - np.array([-1, 0, 1, 2]), np.exp(-0.5 * u**2)
    lagrange = np.stack([np.delete(t, i, 1).prod(axis=1) for i in range(4)], axis=1) / np.array([-6, 2, -2, 6])
    to = (at[:, None].astype(int) + np.array([-1, 0, 1, 2]) + points).ravel()
    weights = (w / normal.sum() for w in (normal, below_zero(u) * normal))
    first, second = (np.bincount(to, (w[:, None] * lagrange).ravel(), 2 * points + 1) for w in weights)
    return first.astype(float), second.astype(float)


def _weights(m: Model, axes: Axes, tables: _Tables) -> tuple[Array, Array, Array]:
    """Weights of all cells, and over the likelihood of each level: of its own rate, and of its never working.

    (mu, root, failures, scatter, never), (mu and root, levels, failures, scatter), (levels, failures).
    """
    line, levels, fails, scatters = tables.own.shape
    own = (tables.near @ tables.own.reshape(line, -1)).reshape(-1, levels, fails, scatters)
    own = np.maximum(own, 1e-300)
    logit, never = shares_of(m, _x(m, never=axes["never"])).never, tables.never.sum(axis=2).T[..., None]
    share = np.zeros(1) if logit is None else inv_logit(logit)
    log = np.stack([np.log(_either(own, never, s)).sum(axis=1) for s in share], axis=-1)
    log += _log_prior(m, axes).reshape(log.shape)
    weights = np.exp(log - log.max())
    weights /= weights.sum()
    over, out = np.zeros_like(own), np.zeros((levels, fails))
    for at, s in enumerate(share):
        each = weights[:, None, ..., at] / _either(own, never, s)
        over += (1 - s) * each
        out += s * each.sum(axis=(0, 3))
    return weights.reshape([len(axes[name]) for name in CELLS]), over, out


def _either(own: Array, never: Array, share: float) -> Array:
    """Likelihood of each level, whether it works or never does."""
    return own if share == 0 else (1 - share) * own + share * never


def _log_prior(m: Model, axes: Axes) -> Array:
    """Log prior of each cell, in the order of `CELLS`."""
    log = -0.5 * ((axes["mu"] - m.options.centre) / m.options.spread) ** 2
    log = log[:, None] + log_prior_of_roots(axes["root"][:, None])
    for name in ("failures", "scatter", "never"):
        log = log[..., None] - 0.5 * axes[name] ** 2
    return np.asarray(log)


def _levels(m: Model, axes: Axes, tables: _Tables, over: Array, out: Array) -> tuple[Levels, Array]:
    """What the weights say of each level, and of each lost clutch."""
    from scipy.interpolate import CubicSpline

    line, shape = tables.line, tables.own.shape
    likely = (tables.near.T @ over.reshape(len(over), -1)).reshape(shape) * tables.own
    own = likely.sum(axis=(2, 3)).T
    below = np.einsum("cx,cx->x", over.reshape(len(over), -1), tables.below @ tables.own.reshape(len(line), -1))
    gone = out.T[..., None] * tables.never if m.options.never else np.zeros_like(tables.never)
    counted, never = gone.sum(axis=0), gone.sum(axis=(0, 2))
    within = (line[0] <= LINE) & (line[-1] >= LINE)
    chances = spread_out(counted)
    chances[:, within] += np.maximum(CubicSpline(line, own, axis=1)(LINE[within]), 0) * FINE / (line[1] - line[0])
    low, high = ends_on_line(chances)
    below = below.reshape(shape[1:]).sum(axis=(1, 2)) + never
    mean = own @ inv_logit(line) + counted @ inv_logit(NEVER_LOGIT)
    return Levels(mean, low, high, below, never), _failed(m, axes, tables, likely, gone)


def _failed(m: Model, axes: Axes, tables: _Tables, likely: Array, gone: Array) -> Array:
    """The chance of each lost clutch that it failed whole."""
    d, failing = m.design, shares_of(m, _x(m, failures=axes["failures"])).failing
    found, level = np.zeros(len(d.lost)), d.level[0][d.lost]
    if failing is None:
        return found
    as_never = np.exp(failed_log(d, never_log(m, failing)[1], failing))
    found += np.sum(as_never * gone[:, level], axis=(0, 2))
    for at, q in enumerate(failing):
        failed = np.exp(failed_log(d, tables.lost[at], np.full(len(tables.lost[at]), q)))
        found += np.einsum("xlc,clx->l", likely[:, level, at], failed)
    return found


def drawn(m: Model, found: Quadrature, rng: np.random.Generator) -> Draws:
    """Even draws from the cells, moved evenly within them and drawn in by the width that this adds."""
    even, total = (np.arange(EVEN_DRAWS) + rng.random()) / EVEN_DRAWS, np.cumsum(found.weights)
    cell = np.minimum(np.searchsorted(total, even), found.weights.size - 1)
    values = {}
    for (name, axis), at in zip(found.axes.items(), np.unravel_index(cell, found.weights.shape), strict=True):
        if len(axis) == 1:
            continue
        mean, apart = float(found.along(name) @ axis), axis[1] - axis[0]
        width = max(float(found.along(name) @ axis**2) - mean**2, 0.0)
        moved = axis[at] + apart * (rng.random(EVEN_DRAWS) - 0.5)
        values[name] = mean + (moved - mean) * np.sqrt(width / (width + apart**2 / 12))
    root = np.maximum(values.pop("root"), 1e-3)
    x = _x(m, **values)
    x[:, 0] = values["mu"]
    return evenly_weighed(m, x, root[:, None])
