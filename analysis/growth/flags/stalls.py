"""A chick that stops gaining, or loses: told from the scatter of its weighings, as early as they allow.

For each possible last good weighing of the last few, the weighings since are held against what the chick was then
expected to gain, and against three other courses: standing still, losing, and a third of the gain. The sum of the
likelihood ratios over these beginnings (Shiryaev 1963; Roberts 1966, from memory) is the evidence of a stall. How
soon one can be seen depends on r, the gain expected a day over the scatter of a weighing.
"""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.follow import Followed
from analysis.growth.flags.log import Log
from analysis.growth.flags.population import Population, news
from analysis.growth.flags.settle import variance_along

# Weighings back that a stall may have begun, and a loss a day (tried: statistics of the aviary's own kind).
BACK = 6
LOSS = 0.04
# Courses: (share of the expected gain that is kept, loss a day). The first is the healthy one.
COURSES = ((1.0, 0.0), (0.0, 0.0), (0.0, LOSS), (1 / 3, 0.0))


@dataclass(frozen=True)
class Evidence:
    """For each weighing, how likely the last few are if the chick has stalled, against a chick that grows.

    Parameters
    ----------
    ratio : (weighings,), sum of likelihood ratios
    since : (weighings,), the weighing that was the last good one, if it has
    expected : (weighings,), ln mass that was expected from there on
    r : (weighings,), gain a day expected since then over the scatter
    """

    ratio: Array
    since: np.ndarray
    expected: Array
    r: Array


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
        better = likely > best[at]
        first = back == 1
        seen = at if first else at[better]
        begun = seen - back
        value = population.curve.log_mass(rows.age_d[seen], followed.theta[:, begun])
        gain = value - population.curve.log_mass(rows.age_d[begun], followed.theta[:, begun])
        days = np.maximum(rows.age_d[seen] - rows.age_d[begun], 0.5)
        best[seen], since[seen], expected[seen] = (likely if first else likely[better]), begun, value
        r[seen] = gain / days / sd[seen]
    return Evidence(ratio, since, expected, r)


class _Walk:
    """From every weighing on, the likelihood of the next ones on each course, the curve made straight there."""

    def __init__(self, log: Log, population: Population, followed: Followed, y: Array) -> None:
        self.ages, self.of, self.y = log.rows.age_d, log.of, y
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
        at = self.begun + self.back
        on = at < len(self.y)
        on[on] = self.of[at[on]] == self.of[self.begun[on]]
        self._keep(on)
        at = self.begun + self.back
        theta = self.theta[:, self.begun]
        value, J = self.curve.log_mass_gradient(self.ages[at], theta)
        days = self.ages[at] - self.ages[self.begun]
        kept, lost = np.array(COURSES).T[..., None]
        here, J_here = self.value[self.begun], self.J[:, self.begun]
        slope = J_here[:, None] + kept * (J - J_here)[:, None]
        mean = here + kept * (value - here) - lost * days + np.sum(slope * self.moved, axis=0)
        self._learn(self.y[at] - mean, slope, self.scale[at], self.carried[at])
        return at, self.log_likely

    def _learn(self, off: Array, slope: Array, scale: Array, carried: Array) -> None:
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

    def _keep(self, on: np.ndarray) -> None:
        self.begun, self.moved = self.begun[on], self.moved[..., on]
        self.unsure, self.log_likely = self.unsure[..., on], self.log_likely[:, on]
        self.last_off = self.last_off[:, on]
