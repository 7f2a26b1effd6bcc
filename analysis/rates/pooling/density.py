"""The log posterior of what the model leaves open once the first group is integrated over, and its slopes."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.rates.pooling.design import Array
from analysis.rates.pooling.model import (
    NEVER_SHARE,
    Model,
    Shares,
    inv_logit,
    never_log,
    share_slope,
    shares_of,
    theta_of,
)
from analysis.rates.pooling.rows import Bend, failed_log, rows_bend, rows_log

_STEP = 1e-3  # of x, where slopes are taken by differences
_FEW = 64  # levels up to which one product with all rows is the faster sum


class Evaluated(NamedTuple):
    """Log posterior at each x, (batch,), and the `share` each node of each level has of it, (batch, levels, nodes).

    Behind the nodes of a level stand those of a level that never works, where the model has them. `failed`: the chance
    of each lost row that it failed whole, (batch, lost rows).
    """

    value: Array
    share: Array
    failed: Array


def _without_first(m: Model, x: Array, sds: Array) -> Array:
    """The logit of every row, (batch, rows), without the first group; x (batch, size), sds (batch, groups)."""
    eta = np.repeat(x[:, :1], len(m.design.tried), axis=1)
    for group, effects in enumerate(m.effects, start=1):
        eta = eta + sds[:, group, None] * x[:, effects][:, m.design.level[group]]
    return eta


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
        up = _slopes(m, x + _STEP * np.eye(m.size)[at], sds, curved=False)[1]
        hessian[:, at, :] = hessian[:, :, at] = (up - gradient) / _STEP
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
        yield at, slope * share_slope(x[:, at], m.options.failing)
    if shares.never is not None:
        at, slope = m.outer["never"], np.sum(never, axis=(1, 2)) - never.shape[1] / (1 + np.exp(-shares.never))
        yield at, slope * share_slope(x[:, at], NEVER_SHARE)
    if shares.theta is not None:
        at = m.outer["scatter"]
        yield at, np.sum(mine * bend.by_theta, axis=(1, 2)) * theta_of(x[:, at])[1]


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
