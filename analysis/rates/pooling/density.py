"""The model, and the log posterior of what it leaves open once the first group is integrated over.

    logit(p) = mu + an effect of each group;  mu ~ Normal(centre, spread²), effects ~ Normal(0, sd²), sd ~ HalfNormal(1)

Given mu, the effects of the other groups and the standard deviations, the levels of the first group have nothing to do
with one another, so each of them is integrated over a line of nodes: exactly, for all that matters here. What is left,
`x`, is short: mu, the other groups' effects in units of their standard deviation, and the share of clutches that fail
whole, of levels that never work, and the scatter of clutches, where these are asked for, each as a number that is
standard normal beforehand.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations_with_replacement, pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.rates.pooling.design import Array, Design, Index, Options
from analysis.rates.pooling.rows import Bend, either, failed_log, rows_bend, rows_log

SD_SCALE = 1.0
# Priors Beta(1, 9) of the share of levels that never work, and Beta(1, 24) of what such a level still shows.
NEVER_SHARE, NEVER = 9.0, (1.0, 24.0)
# Prior of rho, the correlation of what comes of two eggs of a clutch: 0.15 on average, and weak.
SCATTER = (1.5, 8.5)
# Nodes of a level: so many standard deviations either way, and apart by this share of the narrowest likelihood, for
# standard deviations up to the widest that counts.
REACH, APART, WIDE = 5.0, 0.9, 2.0
# Nodes of a level that never works, in logit p, and how far they are apart.
NEVER_APART = 0.25
NEVER_LOGIT = np.arange(-11.0, 0.51, NEVER_APART)
_STEP = 1e-3  # of x, where slopes are taken by differences
_FEW = 64  # levels up to which one product with all rows is the faster sum


@dataclass(frozen=True)
class Model:
    """The model on one design.

    `u` and `log_w` are effects of a level of the first group in standard deviations, (nodes,), and the log of their
    weights; `never_own` (levels, never nodes) and `never_lost` (lost rows, never nodes) the log likelihood of levels
    that never work, of all rows but the lost ones, with log weights, and of each lost one. `pairs`: both numbers of all
    pairs of rows of one level.
    """

    design: Design
    options: Options
    u: Array
    log_w: Array
    never_own: Array
    never_lost: Array
    pairs: tuple[Index, Index]

    def near(self, sd: float) -> "Model":
        """The same with as many nodes as a standard deviation of the first group up to `sd` wants."""
        u, log_w = _nodes(self.design, sd)
        return replace(self, u=u, log_w=log_w)

    @property
    def inner(self) -> int:
        """Coordinates of x that are mu and effects."""
        return 1 + sum(self.design.sizes[1:])

    @property
    def effects(self) -> list[slice]:
        """Where in x the effects of each group but the first stand."""
        ends = np.cumsum([1, *self.design.sizes[1:]]).tolist()
        return [slice(begin, end) for begin, end in pairwise(ends)]

    @cached_property
    def rows_of(self) -> list[Array]:
        """For each group, (rows, levels): 1 where a row belongs to a level."""
        return [np.eye(size)[level] for size, level in zip(self.design.sizes, self.design.level, strict=True)]

    @cached_property
    def moved(self) -> list[tuple[tuple[int, int], Any]]:
        """For mu (0) and each group but the first, two at a time: which entry of the Hessian a pair of rows adds to."""
        from scipy.sparse import csr_array

        rows = len(self.design.tried)
        at = [np.zeros(rows, int), *(part.start + self.design.level[g] for g, part in enumerate(self.effects, start=1))]
        one, other = self.pairs
        shape, each = (self.inner**2, len(one)), np.arange(len(one))
        return [
            ((g, h), csr_array((np.ones(len(one)), (at[g][one] * self.inner + at[h][other], each)), shape=shape))
            for g, h in combinations_with_replacement(range(len(at)), 2)
        ]

    @property
    def outer(self) -> dict[str, int]:
        """Where in x, behind the effects, stand the shares and the scatter that are asked for."""
        asked = [name for name in ("failures", "never", "scatter") if getattr(self.options, name)]
        return {name: self.inner + at for at, name in enumerate(asked)}

    @property
    def size(self) -> int:
        """Coordinates of x in all."""
        return self.inner + len(self.outer)


class Evaluated(NamedTuple):
    """Log posterior at each x, (batch,), and the `share` each node of each level has of it, (batch, levels, nodes).

    Behind the nodes of a level stand those of a level that never works, where the model has them. `failed`: the chance
    of each lost row that it failed whole, (batch, lost rows).
    """

    value: Array
    share: Array
    failed: Array


class Shares(NamedTuple):
    """Logits of the shares of clutches that fail whole and of levels that never work, and theta, (batch,); or None."""

    failing: Array | None
    never: Array | None
    theta: Array | None


def model_of(design: Design, options: Options) -> Model:
    """The model with its nodes laid."""
    u, log_w = _nodes(design, WIDE)
    ends = [*design.first[1:], len(design.tried)]
    rows = [np.arange(begin, end) for begin, end in zip(design.first, ends, strict=True)]
    p_log, q_log = -np.logaddexp(0, -NEVER_LOGIT), -np.logaddexp(0, NEVER_LOGIT)
    k, n = design.worked[:, None], design.tried[:, None]
    never, never_w = k * p_log + (n - k) * q_log, NEVER[0] * p_log + NEVER[1] * q_log
    others = np.delete(np.arange(len(k)), design.lost)
    return Model(
        design=design,
        options=options,
        u=u,
        log_w=log_w,
        never_own=design.of_level[:, others] @ never[others] + never_w - np.log(np.exp(never_w).sum()),
        never_lost=never[design.lost],
        pairs=(np.concatenate([r.repeat(len(r)) for r in rows]), np.concatenate([np.tile(r, len(r)) for r in rows])),
    )


def _nodes(design: Design, sd: float) -> tuple[Array, Array]:
    most = np.add.reduceat(design.tried, design.first).max()
    points = int(np.ceil(REACH * np.sqrt(1 + min(sd, WIDE) ** 2 * most / 4) / APART))
    u = np.linspace(-REACH, REACH, 2 * points + 1)
    u[points] = 0.0
    log_w = -0.5 * u**2
    return u, log_w - np.log(np.exp(log_w).sum())


def inv_logit(x: Array) -> Array:
    """The share of log odds."""
    return np.asarray(1 / (1 + np.exp(-x)))


def _without_first(m: Model, x: Array, sds: Array) -> Array:
    """The logit of every row, (batch, rows), without the first group; x (batch, size), sds (batch, groups)."""
    eta = np.repeat(x[:, :1], len(m.design.tried), axis=1)
    for group, effects in enumerate(m.effects, start=1):
        eta = eta + sds[:, group, None] * x[:, effects][:, m.design.level[group]]
    return eta


def shares_of(m: Model, x: Array) -> Shares:
    """What the coordinates of x behind the effects stand for."""
    of = {name: x[:, at] for name, at in m.outer.items()}
    return Shares(
        _share_logit(of["failures"], m.options.failing) if "failures" in of else None,
        _share_logit(of["never"], NEVER_SHARE) if "never" in of else None,
        _theta(of["scatter"])[0] if "scatter" in of else None,
    )


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


def _theta(x: Array) -> tuple[Array, Array]:
    """rho / (1 - rho) that a standard normal x stands for, so that rho has its prior, and how fast it goes with x."""
    from scipy.special import betaincinv, betaln, ndtr

    x = np.clip(x, -6, 6)
    a, b = SCATTER
    rho = np.where(x < 0, betaincinv(a, b, ndtr(x)), 1 - betaincinv(b, a, ndtr(-x)))
    log_density = (a - 1) * np.log(rho) + (b - 1) * np.log1p(-rho) - betaln(a, b)
    slope = np.exp(-0.5 * x**2 - 0.5 * np.log(2 * np.pi) - log_density)
    return rho / (1 - rho), slope / (1 - rho) ** 2


def never_log(m: Model, q: Array | None) -> tuple[Array, Array]:
    """Log likelihood of levels that never work, (batch, levels, never nodes), and of their lost rows: no scatter."""
    if q is None:
        return m.never_own[None], m.never_lost[None, :0]
    d = m.design
    lost = either(d, m.never_lost - np.logaddexp(0, q)[:, None, None], q)
    others = np.bincount(d.level[0], d.clutches) - np.bincount(d.level[0][d.lost], minlength=len(d.first))
    own = m.never_own - others[:, None] * np.logaddexp(0, q)[:, None, None]
    return own + np.matmul(d.of_level[:, d.lost], lost), lost


def evaluate(m: Model, x: Array, sds: Array) -> Evaluated:
    """The log posterior at each x, and what lies behind it."""
    d, shares = m.design, shares_of(m, x)
    rows = rows_log(d, _at_nodes(m, x, sds), shares.failing, shares.theta)
    value, share = _levels(m, rows, shares)
    failed = np.zeros((len(x), len(d.lost)))
    if shares.failing is not None:
        lost = rows[:, d.lost]
        if shares.never is not None:
            lost = np.concatenate([lost, never_log(m, shares.failing)[1].astype(lost.dtype)], axis=2)
        failed = np.sum(share[:, d.level[0][d.lost]] * np.exp(failed_log(d, lost, shares.failing)), axis=2)
    return Evaluated(value + _log_prior(m, x)[0], share, failed)


def _at_nodes(m: Model, x: Array, sds: Array) -> NDArray[np.float32]:
    """The logit of each row at each node, (batch, rows, nodes), in single precision: twice as fast, and enough."""
    away = (sds[:, :1] * m.u).astype(np.float32)
    return _without_first(m, x, sds).astype(np.float32)[..., None] + away[:, None, :]


def _levels(m: Model, rows: Array, shares: Shares) -> tuple[Array, Array]:
    """Log likelihood of all levels, and the nodes' shares."""
    kind = rows.dtype
    log = _by_level(m, rows) + m.log_w.astype(kind)
    if shares.never is not None:
        log_s, log_1s = (-np.logaddexp(0, -sign * shares.never)[:, None, None].astype(kind) for sign in (1, -1))
        never = never_log(m, shares.failing)[0].astype(kind) + log_s
        log = np.concatenate([log + log_1s, np.broadcast_to(never, (len(log), *never.shape[1:]))], axis=2)
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


def slopes(m: Model, x: Array, sds: Array, outer: Array | None = None) -> tuple[Array, Array, Array]:
    """Log posterior, gradient (batch, size) and Hessian (batch, size, size), that of the shares by differences.

    `outer`: a Hessian from near by, whose part of the shares is taken instead: it costs more than all the rest.
    """
    value, gradient, hessian = _slopes(m, x, sds, curved=True)
    if outer is not None:
        hessian[:, m.inner :], hessian[:, :, m.inner :] = outer[:, m.inner :], outer[:, :, m.inner :]
        return value, gradient, hessian
    for at in range(m.inner, m.size):
        away = _STEP * np.eye(m.size)[at]
        up, down = (_slopes(m, x + sign * away, sds, curved=False)[1] for sign in (1, -1))
        hessian[:, at, :] = hessian[:, :, at] = (up - down) / (2 * _STEP)
    return value, gradient, hessian


def _slopes(m: Model, x: Array, sds: Array, *, curved: bool) -> tuple[Array, Array, Array]:
    shares = shares_of(m, x)
    bend = rows_bend(m.design, _without_first(m, x, sds)[..., None] + sds[:, :1, None] * m.u, shares[0], shares.theta)
    value, rho = _levels(m, bend.log, shares)
    prior, gradient = _log_prior(m, x)
    mine = rho[:, m.design.level[0], : len(m.u)]
    by_row = np.sum(mine * bend.slope, axis=2)
    gradient[:, 0] += by_row.sum(axis=1)
    for group, effects in enumerate(m.effects, start=1):
        gradient[:, effects] += sds[:, group, None] * (by_row @ m.rows_of[group])
    for at, slope in _outer_slopes(m, x, shares, bend, mine, rho[:, :, len(m.u) :]):
        gradient[:, at] += slope
    hessian = np.zeros((len(x), m.size, m.size))
    if curved:
        hessian[:, : m.inner, : m.inner] = _hessian(m, sds, mine, bend, by_row)
    return value + prior, gradient, hessian


def _outer_slopes(
    m: Model, x: Array, shares: Shares, bend: Bend, mine: Array, never: Array
) -> Iterator[tuple[int, Array]]:
    """The slope in each coordinate behind the effects; `mine`, `never`: the nodes' shares of rows and levels."""
    d, q = m.design, shares.failing
    if q is not None:
        at, slope = m.outer["failures"], np.sum(mine * bend.by_q, axis=(1, 2))
        if shares.never is not None:
            log_q = np.logaddexp(0, q)[:, None, None]
            own = np.exp(m.never_lost - log_q - never_log(m, q)[1])
            of_level = never.sum(axis=2)
            slope -= inv_logit(q) * np.sum(of_level[:, d.level[0]] * d.clutches, axis=1)
            slope += np.sum(never[:, d.level[0][d.lost]] * (1 - own), axis=(1, 2))
        yield at, slope * _share_slope(x[:, at], m.options.failing)
    if shares.never is not None:
        at, slope = m.outer["never"], np.sum(never, axis=(1, 2)) - never.shape[1] / (1 + np.exp(-shares.never))
        yield at, slope * _share_slope(x[:, at], NEVER_SHARE)
    if shares.theta is not None:
        at = m.outer["scatter"]
        yield at, np.sum(mine * bend.by_theta, axis=(1, 2)) * _theta(x[:, at])[1]


def _hessian(m: Model, sds: Array, mine: Array, bend: Bend, by_row: Array) -> Array:
    """Curvature in mu and the effects: of each row, and of a level's rows together, its effect being unknown."""
    one, other = m.pairs
    of_pair = (
        np.sum(mine[:, one] * bend.slope[:, one] * bend.slope[:, other], axis=2) - by_row[:, one] * by_row[:, other]
    )
    of_pair[:, one == other] += np.sum(mine * bend.curve, axis=2)
    scale = np.column_stack([np.ones(len(sds)), sds[:, 1:]])
    found = np.zeros((len(sds), m.inner, m.inner))
    for (g, h), of_pairs in m.moved:
        part = (of_pairs @ of_pair.T).T.reshape(found.shape) * (scale[:, g] * scale[:, h])[:, None, None]
        found += part if g == h else part + np.swapaxes(part, 1, 2)
    inner = np.arange(m.inner)
    found[:, inner, inner] -= np.where(inner == 0, m.options.spread**-2, 1.0)
    return np.asarray(found)
