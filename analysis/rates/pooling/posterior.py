"""The log posterior of x given the standard deviations, its slope and curvature, the first group integrated over."""

import numpy as np

from analysis.rates.pooling.design import Array, Short
from analysis.rates.pooling.model import (
    FAILS,
    MU_SD,
    NEVER_SHARE,
    Model,
    fails_slope,
    never_log,
    rows_log,
    rows_slopes,
    share_logits,
    share_slope,
    without_first,
)

_STEP = 1e-3

FEW = 64  # levels up to which one product with all rows is the faster sum


def log_posterior(m: Model, x: Array, sds: Array) -> tuple[Array, Array]:
    """Log posterior at each x, (batch,), and what share each node of each level has, (batch, levels, nodes).

    Behind the nodes of a level stand those of a level that never works, where the model has them.
    """
    q, share = share_logits(m, x)
    value, rho = _levels(m, rows_log(m, at_nodes(m, x, sds), q), q, share)
    return value + _log_prior(m, x)[0], rho


def at_nodes(m: Model, x: Array, sds: Array) -> Short:
    """The logit of each row at each node, (batch, rows, nodes), in single precision: twice as fast, and enough."""
    away = (sds[:, :1] * m.u).astype(np.float32)
    return without_first(m, x, sds).astype(np.float32)[..., None] + away[:, None, :]


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
    if len(m.design.first) > FEW:
        return np.add.reduceat(rows, m.design.first, axis=1)
    sums: Array = np.matmul(m.design.of_level.astype(rows.dtype), rows)
    return sums


def _log_prior(m: Model, x: Array) -> tuple[Array, Array]:
    """Log prior of x, constants left out, and its slope."""
    width = np.ones(m.size)
    width[0] = MU_SD
    return np.asarray(-0.5 * np.sum((x / width) ** 2, axis=1)), -x / width**2


def slopes(m: Model, x: Array, sds: Array) -> tuple[Array, Array, Array]:
    """Log posterior, gradient (batch, size) and Hessian (batch, size, size), that of the shares by differences."""
    value, gradient, hessian = _slopes(m, x, sds, curved=True)
    for at in range(m.inner, m.size):
        aside = _STEP * np.eye(m.size)[at]
        up, down = (_slopes(m, x + sign * aside, sds, curved=False)[1] for sign in (1, -1))
        hessian[:, at, :] = hessian[:, :, at] = (up - down) / (2 * _STEP)
    return value, gradient, hessian


def _slopes(m: Model, x: Array, sds: Array, *, curved: bool) -> tuple[Array, Array, Array]:
    q, share = share_logits(m, x)
    eta = without_first(m, x, sds)[..., None] + sds[:, :1, None] * m.u
    rows, slope, curve, by_q = rows_slopes(m, eta, q)
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
            slope_q += np.sum(never[:, m.design.level[0]] * fails_slope(m, log, never_log(m, q), q)[0], axis=(1, 2))
        gradient[:, m.inner] += slope_q * share_slope(x[:, m.inner], FAILS)
    if m.never:
        slope_share = np.sum(never, axis=(1, 2)) - never.shape[1] / (1 + np.exp(-share))
        gradient[:, -1] += slope_share * share_slope(x[:, -1], NEVER_SHARE)
    hessian = np.zeros((len(x), m.size, m.size))
    if curved:
        hessian[:, : m.inner, : m.inner] = _hessian(m, along, mine, slope, curve, by_row)
    return value + prior, gradient, hessian


def _directions(m: Model, sds: Array) -> Array:
    """How the logit of each row moves with mu and the effects, (batch, rows, inner)."""
    rows = np.arange(len(m.design.tried))
    along, at = np.zeros((len(sds), len(rows), m.inner)), 1
    along[:, :, 0] = 1
    for group, size in enumerate(m.design.sizes[1:], start=1):
        along[:, rows, at + m.design.level[group]] = sds[:, group, None]
        at += size
    return along


def _hessian(m: Model, along: Array, mine: Array, slope: Array, curve: Array, by_row: Array) -> Array:
    """Curvature in mu and the effects: of each row, and of a level's rows together, its effect being unknown."""
    one, other = m.pairs
    both = np.sum(mine[:, one] * slope[:, one] * slope[:, other], axis=2) - by_row[:, one] * by_row[:, other]
    alone = np.sum(mine * curve, axis=2)
    found = np.matmul(np.swapaxes(along * alone[..., None], 1, 2), along)
    found += np.matmul(np.swapaxes(along[:, one] * both[..., None], 1, 2), along[:, other])
    inner = np.arange(m.inner)
    found[:, inner, inner] -= np.where(inner == 0, MU_SD**-2, 1.0)
    return np.asarray(found)
