"""A curve for every chick, made straight at its present parameters: what a mixed fit needs of the weighings."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.finding import Words, found
from analysis.growth.as_arrays import Weighings, pair_of_each
from analysis.growth.curves import Array, Curve
from analysis.growth.mixed.likelihood import Evidence

# Chicks worked together: few enough that their rows stay in the processor's cache.
TOGETHER = 500
# So many times the span of the ages away there is no curve of these weighings.
FAR = 10.0
# Chicks of a single weighing that a curve is looked for in at all (practice, ours).
LEAST_ONCE = 20


@dataclass(frozen=True)
class Straight:
    """The curves made straight at some parameters, as sums over the weighings of each chick."""

    P: Array  # (3, 3, chicks), J'J
    slope: Array  # (3, chicks), J'r
    rss: Array  # (chicks,), r'r; infinite where a curve is not defined at a weighing


@dataclass(frozen=True)
class Model:
    """The weighings, and the scales on which they scatter and chicks differ."""

    rows: Weighings  # chicks pair by pair
    first: np.ndarray | None  # at which chick each pair begins; None without a pair level
    curve: Curve
    additive: bool  # whether weighings scatter on mass, else on ln mass
    natural: bool  # whether chicks differ on A, K, ti, else on ln A, ln K, ti

    def to_fit(self, theta: Array) -> Array:
        """(ln A, ln K, ti) → the scale on which chicks differ."""
        return np.stack([np.exp(theta[0]), np.exp(theta[1]), theta[2]]) if self.natural else theta

    def to_units(self, theta: Array) -> Array:
        """The scale on which chicks differ → (A_g, K_per_d, ti_d)."""
        sizes = np.maximum(theta[:2], 0.0) if self.natural else np.exp(theta[:2])
        return np.stack([*sizes, theta[2]])

    def lost(self, mean: Array) -> bool:
        """Whether a search has left the ages and weights that there are far behind."""
        A, _, ti = self.to_units(mean)
        begin, end = self.rows.age_d.min(), self.rows.age_d.max()
        far = FAR * (end - begin)
        return bool(FAR**2 * self.rows.mass_g.max() < A or not begin - far < ti < end + far)

    def value(self, age_d: Array, theta: Array) -> tuple[Array, Array]:
        """The curves at these ages on the scale of the scatter, (rows,), and their derivatives, (3, rows)."""
        if self.natural:
            A, K = np.maximum(theta[:2], 1e-300)
            theta = np.stack([np.log(A), np.log(K), theta[2]])
        value, gradient = (self.curve.mass_gradient if self.additive else self.curve.log_mass_gradient)(age_d, theta)
        if self.natural:
            gradient[0] /= A
            gradient[1] /= K
        return value, gradient

    def straighten(self, theta: Array) -> Straight:
        """Residuals and derivatives of each chick's weighings at theta of (3, chicks), summed by chick."""
        chicks = len(self.rows.sizes)
        P, slope, rss = np.zeros((3, 3, chicks)), np.zeros((3, chicks)), np.zeros(chicks)
        ends = np.append(self.rows.first, len(self.rows.age_d))
        y = self.rows.mass_g if self.additive else np.log(self.rows.mass_g)
        for begin in range(0, chicks, TOGETHER):
            block = slice(begin, min(begin + TOGETHER, chicks))
            rows, first = slice(ends[block.start], ends[block.stop]), ends[block] - ends[begin]
            each = np.repeat(theta[:, block], self.rows.sizes[block], axis=1)
            with np.errstate(over="ignore", invalid="ignore"):
                value, gradient = self.value(self.rows.age_d[rows], each)
                residual = y[rows] - value
                for i in range(3):
                    for j in range(i + 1):
                        P[i, j, block] = P[j, i, block] = np.add.reduceat(gradient[i] * gradient[j], first)
                slope[:, block] = np.add.reduceat(gradient * residual, first, axis=1)
                rss[block] = np.add.reduceat(residual**2, first)
        with np.errstate(over="ignore", invalid="ignore"):
            broken = ~np.isfinite(rss + slope.sum(axis=0) + P.sum(axis=(0, 1)))
        P[..., broken], slope[:, broken], rss[broken] = 0.0, 0.0, np.inf
        return Straight(P, slope, rss)

    def again(self, straight: Straight, theta: Array, which: np.ndarray) -> Straight:
        """The same with some of the chicks (`which`: a truth value for each) made straight at another theta."""
        some = replace(self, rows=self.rows.only(which), first=None).straighten(theta[:, which])
        P, slope, rss = straight.P.copy(), straight.slope.copy(), straight.rss.copy()
        P[..., which], slope[:, which], rss[which] = some.P, some.slope, some.rss
        return Straight(P, slope, rss)

    def of_chicks(self, values: Array) -> Array:
        """A value of each pair, along the last axis, repeated for its chicks."""
        assert self.first is not None
        return np.repeat(values, np.diff(self.first, append=len(self.rows.sizes)), axis=-1)

    def evidence(self, straight: Straight, from_centre: Array, unit: Array) -> Evidence:
        """What the straightened weighings say, about theta less a centre, in parameters counted in `unit`, (3,).

        from_centre : (3, chicks), the theta at which the curves were made straight, less the centre
        """
        known = np.einsum("ijn,jn->in", straight.P, from_centre)
        rss = np.where(np.isfinite(straight.rss), straight.rss, 0.0)
        s = float(np.sum(rss + np.sum(from_centre * (2 * straight.slope + known), axis=0)))
        P = straight.P * (unit[:, None] * unit)[..., None]
        q = (straight.slope + known) * unit[:, None]
        return Evidence(P[:, :, None], q[:, None], s, len(self.rows.age_d), self.first)


def pair_by_pair(frame: pd.DataFrame, rows: Weighings) -> tuple[Weighings, np.ndarray, pd.Index]:
    """Put chicks pair by pair: the weighings, at which chick each pair begins, and the pairs' names.

    A chick without a pair is a pair of its own, with a missing name; ValueError: a chick has two pairs.
    """
    code, pairs = pd.factorize(pair_of_each(frame).reindex(rows.chicks))
    by_name = sorted(range(len(pairs)), key=lambda i: str(pairs[i]))
    pairs = pairs[by_name]
    code = np.where(code < 0, -1, np.argsort(by_name)[code])
    alone = code < 0
    code[alone] = len(pairs) + np.arange(np.count_nonzero(alone))
    order = np.argsort(code, kind="stable")
    row_order = np.argsort(np.repeat(code, rows.sizes), kind="stable")
    moved = Weighings(rows.chicks[order], rows.sizes[order], rows.age_d[row_order], rows.mass_g[row_order])
    first = np.flatnonzero(np.diff(code[order], prepend=-1))
    names = pd.Index([*pairs, *[None] * np.count_nonzero(alone)], name="pair", dtype=object)
    return moved, first, names


def nothing_to_fit(rows: Weighings, curve: Curve) -> Words:
    """Why these weighings hold no curve at all, before trying; blank where one may be found."""
    p = len(curve.parameters)
    n, ages = len(rows.age_d), len(np.unique(rows.age_d))
    if n <= p:
        return found("growth.too-few", weighings=n, needed=p + 1)
    if ages == 1:
        return found("growth.one-age")
    if ages < p:
        return found("growth.few-ages", ages=ages, needed=p)
    if rows.sizes.max() == 1 and n < LEAST_ONCE:
        return found("growth.weighed-once", chicks=n, needed=LEAST_ONCE)
    if np.all(rows.mass_g == rows.mass_g[0]):
        return found("growth.flat")
    if np.sum((rows.age_d - rows.age_d.mean()) * np.log(rows.mass_g)) <= 0:
        return found("growth.no-rise")
    return ""
