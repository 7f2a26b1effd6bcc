"""The model, and the log posterior of what it leaves open once the first group is integrated over.

    logit(p) = mu + an effect of each group;  mu ~ Normal(centre, spread²), effects ~ Normal(0, sd²), sd ~ HalfNormal(1)

Given mu, the effects of the other groups and the standard deviations, the levels of the first group have nothing to do
with one another, so each of them is integrated over a line of nodes: exactly, for all that matters here. What is left,
`x`, is short: mu, the other groups' effects in units of their standard deviation, and the share of clutches that fail
whole and of levels that never work, where these are asked for, each as a number that is standard normal beforehand.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.names import by_name, named

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SD_SCALE = 1.0
# Priors Beta(1, 9) of the share of levels that never work, and Beta(1, 24) of what such a level still shows.
NEVER_SHARE, NEVER = 9.0, (1.0, 24.0)
# Nodes of a level: so many standard deviations either way, and apart by this share of the narrowest likelihood.
REACH, APART = 5.0, 0.9
# Nodes of a level that never works, in logit p, and how far they are apart.
NEVER_APART = 0.25
NEVER_LOGIT = np.arange(-11.0, 0.51, NEVER_APART)
_STEP = 1e-3  # of x, where slopes are taken by differences
_FEW = 64  # levels up to which one product with all rows is the faster sum


@dataclass(frozen=True)
class Options:
    """What the model has, as `pooled` was asked: `never` and `failures` say which mixtures are on.

    mu ~ Normal(centre, spread²); the share of clutches that fail whole ~ Beta(1, failing).
    """

    never: bool
    failures: bool
    centre: float
    spread: float
    failing: float


@dataclass(frozen=True)
class Design:
    """Clutches in the order of the group that is integrated over, which comes first.

    `worked`, `tried`: with what is under way, as so much of a trial that worked. `clutches`: how many of them a row is,
    for whole failures. `lost`: the rows of which nothing worked, and `unlike` how far what is under way speaks against
    each having failed whole, as a log chance.
    `names` has each group's levels, `level` (groups, rows) the number of each row's. `place`: where each row stands in
    the frame, one of theirs if it stands for several clutches. `first`: where each level of the first group begins.
    """

    worked: Array
    tried: Array
    clutches: Array
    lost: Index
    unlike: Array
    groups: tuple[str, ...]
    names: tuple[list[str], ...]
    level: Index
    place: Index
    first: Index

    @cached_property
    def of_level(self) -> Array:
        """Return (levels of the first group, rows): 1 where a row belongs to a level."""
        return np.asarray(self.level[0] == np.arange(len(self.first))[:, None], float)

    @property
    def sizes(self) -> list[int]:
        """How many levels each group has."""
        return [len(names) for names in self.names]


def lay_out(
    frame: pd.DataFrame,
    tried: str,
    worked: str,
    groups: Sequence[str],
    pending: str | None = None,
    *,
    first: bool,
    lost_apart: bool,
) -> Design:
    """Lay out clutches, the arguments as in `pooled`; those alike say the same together, and are added up.

    `first`: integrate over the group named first, else over the one with the most levels. `lost_apart`: clutches of
    which nothing worked stay rows of their own, since each may have failed whole.
    """
    n, k = (frame[column].to_numpy(float) for column in (tried, worked))
    under_way = frame[pending].to_numpy(float) if pending else np.zeros(len(n))
    labels = {group: named(frame[group]).map(str) for group in groups}
    names = {group: by_name(labels[group].unique()) for group in groups}
    lead = groups[0] if first else max(groups, key=lambda group: len(names[group]))
    order = [lead, *(group for group in groups if group != lead)]
    level = np.array([pd.Categorical(labels[group], names[group]).codes for group in order], np.intp)
    failed = (k == 0) & (n > 0) & (under_way < 1)  # so far; what is under way may follow
    alone = np.where(failed, np.arange(len(n)) + 1, 0) if lost_apart else np.zeros(len(n), int)
    key, at, where = np.unique(np.vstack([level, alone]), axis=1, return_index=True, return_inverse=True)
    first_order = np.lexsort((under_way, k, n))  # sums of fractions depend on their order
    counts = (n + under_way, k + under_way, np.minimum(n + under_way, 1))
    n, k, clutches = (np.bincount(where.ravel()[first_order], v[first_order], len(at)).astype(float) for v in counts)
    turn = np.lexsort((k, n, *key[:-1][::-1]))  # the order of rows changes no digit
    level, n, k, clutches, place = key[:-1, turn], n[turn], k[turn], clutches[turn], at[turn]
    begins = np.searchsorted(level[0], np.arange(len(names[lead])))
    lost = np.flatnonzero(failed[place]) if lost_apart else np.array([], np.intp)
    unlike = np.log1p(-under_way[place[lost]])
    levels = tuple(names[group] for group in order)
    return Design(k, n, clutches, lost, unlike, tuple(order), levels, level, place, begins)


@dataclass(frozen=True)
class Model:
    """The model on one design.

    `u` and `log_w` are effects of a level of the first group in standard deviations, (nodes,), and the log of their
    weights; `never_rows` (rows, never nodes) and `never_w` the log likelihood of each row, and log weights, of levels
    that never work. `pairs`: both numbers of all pairs of rows of one level.
    """

    design: Design
    options: Options
    u: Array
    log_w: Array
    never_rows: Array
    never_w: Array
    pairs: tuple[Index, Index]

    @property
    def never(self) -> bool:
        """Whether levels may never work."""
        return self.options.never

    @property
    def failures(self) -> bool:
        """Whether clutches may fail whole."""
        return self.options.failures

    @property
    def inner(self) -> int:
        """Coordinates of x that are mu and effects."""
        return 1 + sum(self.design.sizes[1:])

    @property
    def effects(self) -> list[slice]:
        """Where in x the effects of each group but the first stand."""
        ends = np.cumsum([1, *self.design.sizes[1:]]).tolist()
        return [slice(begin, end) for begin, end in pairwise(ends)]

    @property
    def size(self) -> int:
        """Coordinates of x in all: behind the effects stand the two shares."""
        return self.inner + self.failures + self.never


def model_of(design: Design, options: Options) -> Model:
    """The model with its nodes laid."""
    most = np.add.reduceat(design.tried, design.first).max()
    points = int(np.ceil(REACH * np.sqrt(1 + most / 2) / APART))
    u = np.linspace(-REACH, REACH, 2 * points + 1)
    u[points] = 0.0
    ends = [*design.first[1:], len(design.tried)]
    rows = [np.arange(begin, end) for begin, end in zip(design.first, ends, strict=True)]
    p_log, q_log = -np.logaddexp(0, -NEVER_LOGIT), -np.logaddexp(0, NEVER_LOGIT)
    k, n = design.worked[:, None], design.tried[:, None]
    log_w, never_w = -0.5 * u**2, NEVER[0] * p_log + NEVER[1] * q_log
    return Model(
        design=design,
        options=options,
        u=u,
        log_w=log_w - np.log(np.exp(log_w).sum()),
        never_rows=k * p_log + (n - k) * q_log,
        never_w=never_w - np.log(np.exp(never_w).sum()),
        pairs=(np.concatenate([r.repeat(len(r)) for r in rows]), np.concatenate([np.tile(r, len(r)) for r in rows])),
    )


def inv_logit(x: Array) -> Array:
    """The share of log odds."""
    return np.asarray(1 / (1 + np.exp(-x)))


def _without_first(m: Model, x: Array, sds: Array) -> Array:
    """The logit of every row, (batch, rows), without the first group; x (batch, size), sds (batch, groups)."""
    eta = np.repeat(x[:, :1], len(m.design.tried), axis=1)
    for group, effects in enumerate(m.effects, start=1):
        eta = eta + sds[:, group, None] * x[:, effects][:, m.design.level[group]]
    return eta


def share_logits(m: Model, x: Array) -> tuple[Array, Array]:
    """Logits of the shares of clutches that fail whole and of levels that never work; minus infinity where off."""
    off = np.full(len(x), -np.inf)
    failing = _share_logit(x[:, m.inner], m.options.failing) if m.failures else off
    return failing, _share_logit(x[:, -1], NEVER_SHARE) if m.never else off


def _share_logit(x: Array, b: float) -> Array:
    """Logit of the share that a standard normal x stands for, so that it has its prior, Beta(1, b)."""
    from scipy.special import log_ndtr

    log_rest = log_ndtr(-x) / b
    return np.asarray(np.log(-np.expm1(log_rest)) - log_rest)


def _share_slope(x: Array, b: float) -> Array:
    """How fast that logit goes with x."""
    from scipy.special import log_ndtr

    log_beyond = log_ndtr(-x)
    hazard = np.exp(-0.5 * x**2 - 0.5 * np.log(2 * np.pi) - log_beyond)
    return np.asarray(hazard / (b * -np.expm1(log_beyond / b)))


def rows_log(m: Model, eta: Any, q: Array) -> Any:
    """Log likelihood of rows at eta (batch, rows, nodes), without binomial coefficients; q, logit, (batch,)."""
    k, n = (counts.astype(eta.dtype)[:, None] for counts in (m.design.worked, m.design.tried))
    log = _soft(eta, np.exp(-np.abs(eta)))
    log *= -n
    log -= (n - k) * eta
    return _may_fail(m, log, q) if m.failures else log


def _rows_slopes(m: Model, eta: Array, q: Array) -> tuple[Array, Array, Array, Array]:
    """The same, its first and second derivative in eta, and its first in the logit q."""
    k, n = m.design.worked[:, None], m.design.tried[:, None]
    small = np.exp(-np.abs(eta))
    log = -n * _soft(eta, small) - (n - k) * eta
    p = np.where(eta >= 0, 1.0, small) / (1 + small)
    slope, curve = k - n * p, -n * p * (1 - p)
    if not m.failures:
        return log, slope, curve, np.zeros((1, 1, 1))
    mixed = _may_fail(m, log, q)
    by_q, own = _fails_slope(m, log, mixed, q)
    f, c = slope[:, m.design.lost], curve[:, m.design.lost]
    curve[:, m.design.lost] = own * (c + f**2) - (own * f) ** 2
    slope[:, m.design.lost] = own * f
    return mixed, slope, curve, by_q


def _soft(eta: Array, small: Array) -> Array:
    """ln(1 + exp(-eta)), from exp(-|eta|)."""
    soft = np.log(1 + small)
    soft += np.maximum(-eta, 0)
    return np.asarray(soft)


def _may_fail(m: Model, log: Array, q: Array) -> Array:
    """Log likelihood of rows where each may fail whole, whatever its rate: (1 - q) L + q [nothing worked]."""
    log_q, log_1q = (-np.logaddexp(0, -sign * q)[:, None, None] for sign in (1, -1))
    mixed = log + (m.design.clutches[:, None] * log_1q).astype(log.dtype)
    lost = mixed[:, m.design.lost]
    below = lost - (log_q + m.design.unlike[:, None]).astype(log.dtype)
    mixed[:, m.design.lost] = lost + _soft(below, np.exp(-np.abs(below)))
    return mixed


def _fails_slope(m: Model, log: Array, mixed: Array, q: Array) -> tuple[Array, Array]:
    """Slope of `_may_fail` in the logit q, and of the lost rows the chance that they did not fail whole."""
    own = np.exp(log[:, m.design.lost] - np.logaddexp(0, q)[:, None, None] - mixed[:, m.design.lost])
    share = 1 / (1 + np.exp(-q))[:, None, None]
    by_q = np.broadcast_to(-share * m.design.clutches[:, None], log.shape).copy()
    by_q[:, m.design.lost] = 1 - own - share
    return by_q, own


def never_log(m: Model, q: Array) -> Array:
    """Log likelihood of rows at the nodes of a level that never works, (batch, rows, never nodes)."""
    rows = np.broadcast_to(m.never_rows, (len(q), *m.never_rows.shape))
    return _may_fail(m, rows, q) if m.failures else rows


def log_posterior(m: Model, x: Array, sds: Array) -> tuple[Array, Array]:
    """Log posterior at each x, (batch,), and what share each node of each level has, (batch, levels, nodes).

    Behind the nodes of a level stand those of a level that never works, where the model has them.
    """
    q, share = share_logits(m, x)
    value, rho = _levels(m, rows_log(m, at_nodes(m, x, sds), q), q, share)
    return value + _log_prior(m, x)[0], rho


def at_nodes(m: Model, x: Array, sds: Array) -> NDArray[np.float32]:
    """The logit of each row at each node, (batch, rows, nodes), in single precision: twice as fast, and enough."""
    away = (sds[:, :1] * m.u).astype(np.float32)
    return _without_first(m, x, sds).astype(np.float32)[..., None] + away[:, None, :]


def _levels(m: Model, rows: Array, q: Array, share: Array) -> tuple[Array, Array]:
    """Log likelihood of all levels, and the nodes' shares."""
    kind = rows.dtype
    log = _by_level(m, rows) + m.log_w.astype(kind)
    if m.never:
        log_s, log_1s = (-np.logaddexp(0, -sign * share)[:, None, None].astype(kind) for sign in (1, -1))
        never = _by_level(m, never_log(m, q).astype(kind)) + m.never_w.astype(kind)
        log = np.concatenate([log + log_1s, never + log_s], axis=2)
    top = log.max(axis=2, keepdims=True)
    log -= top
    rho = np.exp(log, out=log)
    total = rho.sum(axis=2, keepdims=True)
    rho /= total
    return (np.log(total) + top)[..., 0].sum(axis=1, dtype=float), rho


def _by_level(m: Model, rows: Array) -> Array:
    """Sum the rows of each level: as a product where they are few; its cost grows with the square of their number."""
    if len(m.design.first) > _FEW:
        return np.add.reduceat(rows, m.design.first, axis=1)
    return np.asarray(np.matmul(m.design.of_level.astype(rows.dtype), rows))


def _log_prior(m: Model, x: Array) -> tuple[Array, Array]:
    """Log prior of x, constants left out, and its slope."""
    width = np.ones(m.size)
    width[0] = m.options.spread
    away = x - m.options.centre * (np.arange(m.size) == 0)
    return np.asarray(-0.5 * np.sum((away / width) ** 2, axis=1)), -away / width**2


def slopes(m: Model, x: Array, sds: Array) -> tuple[Array, Array, Array]:
    """Log posterior, gradient (batch, size) and Hessian (batch, size, size), that of the shares by differences."""
    value, gradient, hessian = _slopes(m, x, sds, curved=True)
    for at in range(m.inner, m.size):
        away = _STEP * np.eye(m.size)[at]
        up, down = (_slopes(m, x + sign * away, sds, curved=False)[1] for sign in (1, -1))
        hessian[:, at, :] = hessian[:, :, at] = (up - down) / (2 * _STEP)
    return value, gradient, hessian


def _slopes(m: Model, x: Array, sds: Array, *, curved: bool) -> tuple[Array, Array, Array]:
    q, share = share_logits(m, x)
    eta = _without_first(m, x, sds)[..., None] + sds[:, :1, None] * m.u
    rows, slope, curve, by_q = _rows_slopes(m, eta, q)
    value, rho = _levels(m, rows, q, share)
    prior, gradient = _log_prior(m, x)
    mine = rho[:, m.design.level[0], : len(m.u)]
    by_row = np.sum(mine * slope, axis=2)
    along = _directions(m, sds)
    gradient[:, : m.inner] += np.einsum("br,bri->bi", by_row, along)
    never = rho[:, :, len(m.u) :]
    if m.failures:
        slope_q = np.sum(mine * by_q, axis=(1, 2))
        if m.never:
            log = np.broadcast_to(m.never_rows, (len(q), *m.never_rows.shape))
            slope_q += np.sum(never[:, m.design.level[0]] * _fails_slope(m, log, never_log(m, q), q)[0], axis=(1, 2))
        gradient[:, m.inner] += slope_q * _share_slope(x[:, m.inner], m.options.failing)
    if m.never:
        slope_share = np.sum(never, axis=(1, 2)) - never.shape[1] / (1 + np.exp(-share))
        gradient[:, -1] += slope_share * _share_slope(x[:, -1], NEVER_SHARE)
    hessian = np.zeros((len(x), m.size, m.size))
    if curved:
        hessian[:, : m.inner, : m.inner] = _hessian(m, along, mine, slope, curve, by_row)
    return value + prior, gradient, hessian


def _directions(m: Model, sds: Array) -> Array:
    """How the logit of each row moves with mu and the effects, (batch, rows, inner)."""
    rows = np.arange(len(m.design.tried))
    along = np.zeros((len(sds), len(rows), m.inner))
    along[:, :, 0] = 1
    for group, effects in enumerate(m.effects, start=1):
        along[:, rows, effects.start + m.design.level[group]] = sds[:, group, None]
    return along


def _hessian(m: Model, along: Array, mine: Array, slope: Array, curve: Array, by_row: Array) -> Array:
    """Curvature in mu and the effects: of each row, and of a level's rows together, its effect being unknown."""
    one, other = m.pairs
    both = np.sum(mine[:, one] * slope[:, one] * slope[:, other], axis=2) - by_row[:, one] * by_row[:, other]
    alone = np.sum(mine * curve, axis=2)
    found = np.matmul(np.swapaxes(along * alone[..., None], 1, 2), along)
    found += np.matmul(np.swapaxes(along[:, one] * both[..., None], 1, 2), along[:, other])
    inner = np.arange(m.inner)
    found[:, inner, inner] -= np.where(inner == 0, m.options.spread**-2, 1.0)
    return np.asarray(found)
