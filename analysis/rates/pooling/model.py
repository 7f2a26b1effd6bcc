"""The model on one layout of clutches: its priors, nodes, and the coordinates of all it leaves open.

    logit(p) = mu + an effect of each group;  mu ~ Normal(centre, spread²), effects ~ Normal(0, sd²), sd ~ HalfNormal(1)

Given mu, the effects of the other groups and the standard deviations, the levels of the first group have nothing to do
with one another, so each of them is integrated over a line of nodes: exactly, for all that matters here. What is left,
`x`, is short: mu, the other groups' effects in units of their standard deviation, and the share of clutches that fail
whole, of levels that never work, and the scatter of clutches, where these are asked for, each as a number that is
standard normal beforehand.
"""

from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import combinations_with_replacement, pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from analysis.rates.pooling.design import Array, Design, Index, Options
from analysis.rates.pooling.rows import either

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

SD_SCALE = 1.0
# Priors Beta(1, 9) of the share of levels that never work, and Beta(1, 24) of what such a level still shows.
NEVER_SHARE, NEVER = 9.0, (1.0, 24.0)
# Prior of rho, the correlation of what comes of two eggs of a clutch: 0.15 on average, and weak.
SCATTER = (1.5, 8.5)
_FARTHEST = 6.0  # in standard deviations, that its number may lie from the middle
# Nodes of a level: so many standard deviations either way, and apart by this share of the narrowest likelihood, for
# standard deviations up to the widest that counts.
REACH, APART, WIDE = 5.0, 0.9, 2.0
# Nodes of a level that never works, in logit p, and how far they are apart.
NEVER_APART = 0.25
NEVER_LOGIT = np.arange(-11.0, 0.51, NEVER_APART)


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


def shares_of(m: Model, x: Array) -> Shares:
    """What the coordinates of x behind the effects stand for."""
    of = {name: x[:, at] for name, at in m.outer.items()}
    return Shares(
        _share_logit(of["failures"], m.options.failing) if "failures" in of else None,
        _share_logit(of["never"], NEVER_SHARE) if "never" in of else None,
        theta_of(of["scatter"])[0] if "scatter" in of else None,
    )


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


def theta_of(x: Array) -> tuple[Array, Array]:
    """rho / (1 - rho) that a standard normal x stands for, so that rho has its prior, and how fast it goes with x."""
    x = np.clip(x, -_FARTHEST, _FARTHEST)
    theta = np.exp(_log_theta()(x))
    return theta, theta * _log_theta()(x, 1)


@cache
def _log_theta() -> "CubicSpline":
    """The log of it between points laid so close that 1e-9 of theta is the most that is lost."""
    from scipy.interpolate import CubicSpline
    from scipy.special import betaincinv, ndtr

    (a, b), x = SCATTER, np.linspace(-_FARTHEST, _FARTHEST, 1201)
    rho, rest = betaincinv(a, b, ndtr(x)), betaincinv(b, a, ndtr(-x))
    return CubicSpline(x, np.log(np.where(x < 0, rho, 1 - rest)) - np.log(np.where(x < 0, 1 - rho, rest)))


def never_log(m: Model, q: Array | None) -> tuple[Array, Array]:
    """Log likelihood of levels that never work, (batch, levels, never nodes), and of their lost rows: no scatter."""
    if q is None:
        return m.never_own[None], m.never_lost[None, :0]
    d = m.design
    lost = either(d, m.never_lost - np.logaddexp(0, q)[:, None, None], q)
    others = np.bincount(d.level[0], d.clutches) - np.bincount(d.level[0][d.lost], minlength=len(d.first))
    own = m.never_own - others[:, None] * np.logaddexp(0, q)[:, None, None]
    return own + np.matmul(d.of_level[:, d.lost], lost), lost
