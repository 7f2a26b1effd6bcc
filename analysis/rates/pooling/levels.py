"""What weighted draws say of every level: its rate's mean, interval, and whether it is below the typical one."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array, Index
from analysis.rates.pooling.model import (
    NEVER_APART,
    NEVER_LOGIT,
    Model,
    never_log,
    rows_log,
    share_logits,
)
from analysis.rates.pooling.posterior import at_nodes, log_posterior
from analysis.rates.pooling.sample import Draws, at_once

# Rates are counted on an even line of logits.
FINE = 0.02
LINE = np.arange(-16.0, 16.0 + FINE / 2, FINE)
ENDS = (0.025, 0.975)


@dataclass(frozen=True)
class Levels:
    """One group's levels: mean, low, high, below and never, (levels,) each."""

    mean: Array
    low: Array
    high: Array
    below: Array
    never: Array


def inv_logit(x: Array) -> Array:
    """The share of log odds."""
    return np.asarray(1 / (1 + np.exp(-x)))


@dataclass(frozen=True)
class First:
    """The group that is integrated over.

    Parameters
    ----------
    levels : Levels
    failed : (lost,) chance of each lost clutch that it failed whole
    node : (even draws, levels) one node of each level in each draw, as likely as its share
    """

    levels: Levels
    failed: Array
    node: Index


def first_group(m: Model, draws: Draws, times: Index, rng: np.random.Generator) -> First:
    """Tell the levels of the group that is integrated over; `times`: as how many even draws each draw is taken."""
    levels, nodes = m.design.sizes[0], len(m.u)
    x, sds = draws.x, draws.sds
    counted, never_counted = np.zeros((levels, len(LINE))), np.zeros((levels, len(NEVER_LOGIT)))
    mean, below, failed, chosen = np.zeros(levels), np.zeros(levels), np.zeros(len(m.lost)), []
    side = np.where(m.u < 0, 1.0, np.where(m.u == 0, 0.5, 0.0))
    step = at_once(m)
    for begin in range(0, len(x), step):
        part = slice(begin, begin + step)
        eta = x[part, :1] + sds[part, :1] * m.u
        rho = log_posterior(m, x[part], sds[part])[1]
        chosen.append(_choose(rho, times[part], rng))
        rho = rho * draws.weights[part, None, None]
        own = rho[:, :, :nodes]
        mean += np.einsum("blj,bj->l", own, inv_logit(eta), optimize=True)
        below += np.einsum("blj,j->l", own, side, optimize=True)
        at = np.clip(np.rint((eta - LINE[0]) / FINE), 0, len(LINE) - 1).astype(int).ravel()
        for level in range(levels):
            counted[level] += np.bincount(at, own[:, level].ravel(), len(LINE))
        never_counted += rho[:, :, nodes:].sum(axis=0) if m.never else 0.0
        if m.failures:
            failed += _failed(m, x[part], sds[part], rho)
    mean += never_counted @ inv_logit(NEVER_LOGIT)
    never = never_counted.sum(axis=1)
    counted += _spread_out(never_counted)
    low, high = (_quantile(counted, end) for end in ENDS)
    return First(Levels(mean, low, high, below + never, never), failed, np.concatenate(chosen))


def _choose(rho: Array, times: Index, rng: np.random.Generator) -> Index:
    """A node of each level, as likely as its share, as many times as each draw stands for."""
    total = np.cumsum(rho, axis=2).repeat(times, axis=0)
    return np.asarray((total < rng.random(total.shape[:2])[..., None] * total[..., -1:]).sum(axis=2))


def _failed(m: Model, x: Array, sds: Array, rho: Array) -> Array:
    """Chance of each lost clutch that it failed whole, summed over these draws."""
    q, _ = share_logits(m, x)
    log_q = -np.logaddexp(0, -q)[:, None, None]
    rows = rows_log(m, at_nodes(m, x, sds), q)[:, m.lost]
    if m.never:
        rows = np.concatenate([rows, never_log(m, q)[:, m.lost]], axis=2)
    share = rho[:, m.design.level[0][m.lost]]
    return np.asarray(np.sum(share * np.exp(log_q - rows), axis=(0, 2)))


def _spread_out(never_counted: Array) -> Array:
    """What lies on the nodes of a level that never works, spread evenly between them along the line."""
    spread = np.zeros((len(never_counted), len(LINE)))
    width = round(NEVER_APART / FINE)
    at = np.rint((NEVER_LOGIT - LINE[0]) / FINE).astype(int)
    for aside in range(-(width // 2), width - width // 2):
        spread[:, at + aside] += never_counted / width
    return spread


def _quantile(counted: Array, share: float) -> Array:
    total = np.cumsum(counted, axis=1)
    return np.array([inv_logit(np.interp(share * row[-1], row, LINE + FINE / 2)) for row in total])


def other_group(mu: Array, effects: Array, weights: Array) -> Levels:
    """Another group's levels, from weighted draws of mu (draws,) and of the effects (draws, levels)."""
    rate = inv_logit(mu[:, None] + effects)
    order = np.argsort(rate, axis=0)
    ends = [weighted_quantiles(rate[order[:, j], j], weights[order[:, j]]) for j in range(rate.shape[1])]
    low, high = np.array(ends).T if ends else (np.array([]), np.array([]))
    return Levels(weights @ rate, low, high, weights @ (effects < 0), np.full(rate.shape[1], np.nan))


def weighted_quantiles(values: Array, weights: Array, shares: tuple[float, ...] = ENDS) -> Array:
    """Quantiles of weighted values that are in order."""
    middle = np.cumsum(weights) - weights / 2
    quantiles: Array = np.interp(np.array(shares) * weights.sum(), middle, values)
    return quantiles
