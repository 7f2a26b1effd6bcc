"""The model, and the log likelihood of its clutches.

    logit(p) = mu + an effect of each group;  mu ~ Normal(0, 1.5²), effects ~ Normal(0, sd²), sd ~ HalfNormal(1)

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
Short = NDArray[np.float32]

MU_SD, SD_SCALE = 1.5, 1.0
# Priors Beta(1, b): of the share of clutches that fail whole, and of levels that never work; and Beta(1, 24) of what
# such a level still shows.
FAILS, NEVER_SHARE, NEVER = 9.0, 9.0, (1.0, 24.0)
# Nodes of a level: so many standard deviations either way, and apart by this share of the narrowest likelihood.
REACH, APART = 5.0, 0.9
# Nodes of a level that never works, in logit p, and how far they are apart.
NEVER_APART = 0.25
NEVER_LOGIT = np.arange(-11.0, 0.51, NEVER_APART)


@dataclass(frozen=True)
class Design:
    """Clutches in the order of the group that is integrated over, which comes first.

    `worked`, `tried` and `clutches` are counts, a row each; `names` has each group's levels, `level` (groups, rows) the
    number of each row's. `place`: where each row stands in the frame; one that stands for several clutches has one of
    theirs. `first`: where the rows of each level of the first group begin.
    """

    worked: Array
    tried: Array
    clutches: Array
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
    frame: pd.DataFrame, tried: str, worked: str, groups: Sequence[str], *, first: bool, lost_apart: bool
) -> Design:
    """Lay out clutches; frame, tried, worked and groups as in `pooled`, checked.

    `first`: whether to integrate over the group named first; else over the one with the most levels. `lost_apart`:
    whether clutches of which nothing worked stay rows of their own; others that are alike are added up.
    """
    n, k = (frame[column].to_numpy(float) for column in (tried, worked))
    labels = {group: named(frame[group]).map(str) for group in groups}
    names = {group: by_name(labels[group].unique()) for group in groups}
    lead = groups[0] if first else max(groups, key=lambda group: len(names[group]))
    order = [lead, *(group for group in groups if group != lead)]
    level = np.array([pd.Categorical(labels[group], names[group]).codes for group in order], np.intp)
    # Clutches that are alike in all groups say together what they say apart, those that may have failed whole do not.
    alone = np.where((k == 0) & (n > 0), np.arange(len(n)) + 1, 0) if lost_apart else np.zeros(len(n), int)
    key, at, where = np.unique(np.vstack([level, alone]), axis=1, return_index=True, return_inverse=True)
    n, k, clutches = (np.bincount(where.ravel(), v, len(at)).astype(float) for v in (n, k, n > 0))
    level, place = key[:-1], np.arange(len(frame))[at]
    turn = np.lexsort((k, n, *level[::-1]))  # the order of rows changes no digit
    level, n, k, clutches, place = level[:, turn], n[turn], k[turn], clutches[turn], place[turn]
    begins = np.searchsorted(level[0], np.arange(len(names[lead])))
    return Design(k, n, clutches, tuple(order), tuple(names[group] for group in order), level, place, begins)


@dataclass(frozen=True)
class Model:
    """The model on one design; `never` and `failures` say which mixtures are on.

    `u` and `log_w` are effects of a level of the first group in standard deviations, (nodes,), and the log of their
    weights; `never_rows` (rows, never nodes) and `never_w` the log likelihood of each row, and log weights, of levels
    that never work. `lost`: the rows of which nothing worked. `pairs`: both numbers of all pairs of rows of one level.
    """

    design: Design
    never: bool
    failures: bool
    u: Array
    log_w: Array
    never_rows: Array
    never_w: Array
    lost: Index
    pairs: tuple[Index, Index]

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


def model_of(design: Design, *, never: bool, failures: bool) -> Model:
    """Lay the nodes of a model."""
    most = np.add.reduceat(design.tried, design.first).max()
    points = int(np.ceil(REACH * np.sqrt(1 + most / 2) / APART))
    u = np.linspace(-REACH, REACH, 2 * points + 1)
    u[points] = 0.0
    ends = [*design.first[1:], len(design.tried)]
    rows = [np.arange(begin, end) for begin, end in zip(design.first, ends, strict=True)]
    p_log, q_log = -np.logaddexp(0, -NEVER_LOGIT), -np.logaddexp(0, NEVER_LOGIT)
    k, n = design.worked[:, None], design.tried[:, None]
    return Model(
        design=design,
        never=never,
        failures=failures,
        u=u,
        log_w=_to_one(-0.5 * u**2),
        never_rows=k * p_log + (n - k) * q_log,
        never_w=_to_one(NEVER[0] * p_log + NEVER[1] * q_log),
        lost=np.flatnonzero((design.worked == 0) & (design.tried > 0)),
        pairs=(np.concatenate([r.repeat(len(r)) for r in rows]), np.concatenate([np.tile(r, len(r)) for r in rows])),
    )


def inv_logit(x: Array) -> Array:
    """The share of log odds."""
    return np.asarray(1 / (1 + np.exp(-x)))


def _to_one(log_w: Array) -> Array:
    return np.asarray(log_w - np.log(np.exp(log_w).sum()))


def without_first(m: Model, x: Array, sds: Array) -> Array:
    """The logit of every row, (batch, rows), without the first group; x (batch, size), sds (batch, groups)."""
    eta = np.repeat(x[:, :1], len(m.design.tried), axis=1)
    for group, effects in enumerate(m.effects, start=1):
        eta = eta + sds[:, group, None] * x[:, effects][:, m.design.level[group]]
    return eta


def share_logits(m: Model, x: Array) -> tuple[Array, Array]:
    """Logits of the shares of clutches that fail whole and of levels that never work; minus infinity where off."""
    off = np.full(len(x), -np.inf)
    failing = _share_logit(x[:, m.inner], FAILS) if m.failures else off
    return failing, _share_logit(x[:, -1], NEVER_SHARE) if m.never else off


def _share_logit(x: Array, b: float) -> Array:
    """Logit of the share that a standard normal x stands for, so that it has its prior, Beta(1, b)."""
    from scipy.special import log_ndtr

    log_rest = log_ndtr(-x) / b
    return np.asarray(np.log(-np.expm1(log_rest)) - log_rest)


def share_slope(x: Array, b: float) -> Array:
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


def rows_slopes(m: Model, eta: Array, q: Array) -> tuple[Array, Array, Array, Array]:
    """The same, its first and second derivative in eta, and its first in the logit q."""
    k, n = m.design.worked[:, None], m.design.tried[:, None]
    small = np.exp(-np.abs(eta))
    log = -n * _soft(eta, small) - (n - k) * eta
    p = np.where(eta >= 0, 1.0, small) / (1 + small)
    slope, curve = k - n * p, -n * p * (1 - p)
    if not m.failures:
        return log, slope, curve, np.zeros((1, 1, 1))
    mixed = _may_fail(m, log, q)
    by_q, own = fails_slope(m, log, mixed, q)
    f, c = slope[:, m.lost], curve[:, m.lost]
    curve[:, m.lost] = own * (c + f**2) - (own * f) ** 2
    slope[:, m.lost] = own * f
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
    lost = mixed[:, m.lost]
    below = lost - log_q.astype(log.dtype)
    mixed[:, m.lost] = lost + _soft(below, np.exp(-np.abs(below)))
    return mixed


def fails_slope(m: Model, log: Array, mixed: Array, q: Array) -> tuple[Array, Array]:
    """Slope of `_may_fail` in the logit q, and of the lost rows the chance that they did not fail whole."""
    own = np.exp(log[:, m.lost] - np.logaddexp(0, q)[:, None, None] - mixed[:, m.lost])
    share = 1 / (1 + np.exp(-q))[:, None, None]
    by_q = np.broadcast_to(-share * m.design.clutches[:, None], log.shape).copy()
    by_q[:, m.lost] = 1 - own - share
    return by_q, own


def never_log(m: Model, q: Array) -> Array:
    """Log likelihood of rows at the nodes of a level that never works, (batch, rows, never nodes)."""
    rows = np.broadcast_to(m.never_rows, (len(q), *m.never_rows.shape))
    return _may_fail(m, rows, q) if m.failures else rows
