"""Chicks followed from weighing to weighing: what was known of each then, stalls, and the fall before weaning.

Parrot chicks rise above adult weight and lose about a tenth until they are weaned.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analysis.growth.as_arrays import Log
from analysis.growth.curves import Array
from analysis.growth.flags.population import Population, chicks_of, median_of, news
from analysis.growth.flags.settle import Prior, Table, invert, settle, variance_along
from analysis.growth.trade_rule import FALLEN

# A chick's weighings are read so many at a time; what came before them is what is known of it beforehand, so that
# the cost is linear in the weighings.
AT_ONCE = 24
COLUMNS = 1500
# Look above a tenth, act above 15 % (trade: a loss over 10 % says not ready to wean, Duerr & Gage 2020 p. 750,
# finches; a general magazine gives 10-25 %; the cut at 15 % is ours).
LOOK, ACT = 0.105, 0.15
# A chick falls from a peak only once its curve has come so far; before that it stalls or loses.
GROWN = 0.85
# Weighings back that a stall may have begun, and a loss a day (tried: statistics of the aviary's own kind).
BACK = 6
LOSS = 0.04
# Courses: (share of the expected gain that is kept, loss a day). The first is the healthy one.
COURSES = ((1.0, 0.0), (0.0, 0.0), (0.0, LOSS), (1 / 3, 0.0))


@dataclass(frozen=True)
class Followed:
    """What was known before and after each weighing, from the chick's own weighings up to then and its kind."""

    theta: Array  # (3, weighings), after the weighing
    covariance: Array  # (3, 3, weighings)
    before: Array  # theta before it
    expected: Array  # (weighings,), ln mass expected of the weighing
    sd: Array  # (weighings,), how far it may be off
    off: Array  # (weighings,), what was weighed less what was expected


def follow(log: Log, population: Population) -> Followed:
    """Follow every chick from weighing to weighing."""
    rows = log.rows
    y, scale = log.log_mass - population.shift(log), population.scatter.scale(rows.mass_g)
    carried = population.carried(log)
    says = news(carried)
    prior = population.prior(log.unsure_d)
    theta, covariance = np.empty((3, len(y))), np.empty((3, 3, len(y)))
    mean, precision = prior.mean.copy(), prior.precision.copy()
    for begin in range(0, int(rows.sizes.max(initial=0)), AT_ONCE):
        for at, each, chick in _beginnings(rows.first, rows.sizes, begin):
            table = Table(rows.age_d[at], y[at], scale[at], each * says[at])
            own = Prior(mean[:, chick], precision[..., chick])
            found = settle(population.curve, own, table, population.scatter)
            ends = at[(each > 0).sum(axis=0) - 1, np.arange(at.shape[1])]
            theta[:, ends], covariance[..., ends] = found.theta, found.covariance
        over = np.flatnonzero(rows.sizes > begin + AT_ONCE)
        end = rows.first[over] + begin + AT_ONCE - 1
        mean[:, over], precision[..., over] = theta[:, end], invert(covariance[..., end])
    before, unsure = np.roll(theta, 1, axis=-1), np.roll(covariance, 1, axis=-1)
    before[:, rows.first], unsure[..., rows.first] = prior.mean, invert(prior.precision)
    value, J = population.curve.log_mass_gradient(rows.age_d, before)
    last_off = np.roll(y, 1) - population.curve.log_mass(np.roll(rows.age_d, 1), before)
    last_off[rows.first] = 0.0
    last_off *= population.scatter.weight(last_off / np.roll(scale, 1))
    expected = value + carried * last_off
    sd = np.sqrt(variance_along(J, unsure) + (1 - carried**2) * scale**2)
    return Followed(theta, covariance, before, expected, sd, y - expected)


def _beginnings(first: np.ndarray, sizes: np.ndarray, begin: int) -> Iterator[tuple[np.ndarray, Array, np.ndarray]]:
    """The weighings of a stretch, up to each one of them: rows, which are real, and whose; the short ones first."""
    chicks = np.flatnonzero(sizes > begin)
    here = np.minimum(sizes[chicks] - begin, AT_ONCE)
    chick = np.repeat(chicks, here)
    length = 1 + np.arange(len(chick)) - np.repeat(np.cumsum(here) - here, here)
    order = np.argsort(length, kind="stable")
    for some in np.split(order, range(COLUMNS, len(order), COLUMNS)):
        most = int(length[some].max())
        down = np.arange(most)[:, None]
        at = first[chick[some]] + begin + np.minimum(down, length[some] - 1)
        yield at, (down < length[some]).astype(float), chick[some]


@dataclass(frozen=True)
class Falls:
    """Each weighing against its chick's peak up to then, both by the middle of three weighings, (weighings,)."""

    peak: Array  # ln of the peak; -inf while the chick is not grown
    peak_at: np.ndarray  # at which weighing that was
    fall: Array  # share of the peak that is lost

    def past(self, log: Log) -> np.ndarray:
        """Which weighings are past their chick's peak, once it has fallen, (weighings,)."""
        last = log.rows.last
        fell = log.rows.each(self.fall[last] >= FALLEN)
        return fell & (np.arange(len(self.peak)) > log.rows.each(self.peak_at[last]))


def falls(log: Log, population: Population, theta: Array) -> Falls:
    """Follow each chick from its peak; theta: (3, weighings), its curve as known at each weighing."""
    y, last_three = log.log_mass - population.filled(log), np.full((3, len(log.log_mass)), np.nan)
    for back in range(3):
        before, same = log.beside(-back)
        last_three[back, same] = y[before[same]]
    middle, count = median_of(last_three)
    smooth = np.where(count == 3, middle, -np.inf)
    grown_d = theta[2] - population.curve.z_at(np.log(GROWN)) / np.exp(theta[1])
    grown = np.where(log.rows.age_d >= grown_d, smooth, -np.inf)
    peak, peak_at = grown.copy(), np.arange(len(y))
    for first, size in zip(log.rows.first, log.rows.sizes, strict=True):
        own = slice(first, first + size)
        peak[own] = np.maximum.accumulate(grown[own])
        peak_at[own] = np.maximum.accumulate(np.where(grown[own] >= peak[own], peak_at[own], first))
    known = np.isfinite(peak)
    fall = np.zeros(len(y))
    fall[known] = -np.expm1(smooth[known] - peak[known])
    return Falls(peak, np.maximum(peak_at - 1, log.rows.each(log.rows.first)), fall)


def falls_back(log: Log, population: Population) -> Falls:
    """The same looking back, each chick by its curve through all its weighings."""
    return falls(log, population, log.rows.each(chicks_of(log, population).theta))


@dataclass(frozen=True)
class Evidence:
    """For each weighing, how likely the last few are if the chick has stalled, against a chick that grows."""

    ratio: Array  # sum of likelihood ratios
    since: np.ndarray  # the weighing that was the last good one, if it has
    expected: Array  # ln mass that was expected from there on
    r: Array  # gain a day expected since then over the scatter


def stalls(log: Log, population: Population, followed: Followed) -> Evidence:
    """Weigh the evidence of a stall at each weighing."""
    rows, n = log.rows, len(log.rows.age_d)
    y, sd = log.log_mass - population.shift(log), population.scatter.sd(rows.mass_g)
    ratio, best = np.zeros(n), np.zeros(n)
    since, expected, r = np.arange(n), followed.expected.copy(), np.zeros(n)
    walk = _Walk(log, population, followed, y)
    for back in range(1, BACK + 1):
        at, from_here = walk.step()
        if not len(at):
            break
        likely = np.mean(np.exp(np.minimum(from_here[1:] - from_here[0], 50.0)), axis=0)
        ratio[at] += likely
        better = (likely > best[at]) | (back == 1)
        seen = at[better]
        begun = seen - back
        value = population.curve.log_mass(rows.age_d[seen], followed.theta[:, begun])
        gain = value - population.curve.log_mass(rows.age_d[begun], followed.theta[:, begun])
        days = np.maximum(rows.age_d[seen] - rows.age_d[begun], 0.5)
        best[seen], since[seen], expected[seen] = likely[better], begun, value
        r[seen] = gain / days / sd[seen]
    return Evidence(ratio, since, expected, r)


class _Walk:
    """From every weighing on, the likelihood of the next ones on each course, the curve made straight there."""

    def __init__(self, log: Log, population: Population, followed: Followed, y: Array) -> None:
        self.log, self.ages, self.y = log, log.rows.age_d, y
        self.curve, self.scatter = population.curve, population.scatter
        self.scale = population.scatter.scale(log.rows.mass_g)
        self.begun, self.back = np.arange(len(y)), 0
        self.theta = followed.theta
        self.value, self.J = self.curve.log_mass_gradient(self.ages, self.theta)
        courses = len(COURSES)
        self.moved = np.zeros((3, courses, len(y)))
        self.unsure = np.repeat(followed.covariance[:, :, None], courses, axis=2)
        self.log_likely = np.zeros((courses, len(y)))
        self.carried = population.carried(log)
        off = y - self.value
        self.last_off = np.repeat((off * self.scatter.weight(off / self.scale))[None], courses, axis=0)

    def step(self) -> tuple[np.ndarray, Array]:
        """One weighing further: its row, and the log-likelihood of all since, (courses, rows)."""
        self.back += 1
        on = self.log.beside(self.back)[1][self.begun]
        self.begun, self.moved, self.last_off = self.begun[on], self.moved[..., on], self.last_off[:, on]
        self.unsure, self.log_likely = self.unsure[..., on], self.log_likely[:, on]
        at = self.begun + self.back
        theta = self.theta[:, self.begun]
        value, J = self.curve.log_mass_gradient(self.ages[at], theta)
        days = self.ages[at] - self.ages[self.begun]
        kept, lost = np.array(COURSES).T[..., None]
        here, J_here = self.value[self.begun], self.J[:, self.begun]
        slope = J_here[:, None] + kept * (J - J_here)[:, None]
        mean = here + kept * (value - here) - lost * days + np.sum(slope * self.moved, axis=0)
        off, scale, carried = self.y[at] - mean, self.scale[at], self.carried[at]
        known = variance_along(slope, self.unsure)
        new = off - carried * self.last_off
        spread = np.sqrt(known + (1 - carried**2) * scale**2)
        self.log_likely = self.log_likely + self.scatter.log_density(new / spread) - np.log(spread)
        counted = self.scatter.weight(new / spread)
        self.last_off = off * self.scatter.weight(off / scale)
        reach = np.einsum("ijcn,jcn->icn", self.unsure, slope)
        gain = reach / (known + scale**2 / np.maximum(counted * news(carried), 1e-6))
        self.moved = self.moved + gain * off
        self.unsure = self.unsure - gain[:, None] * reach[None]
        return at, self.log_likely
