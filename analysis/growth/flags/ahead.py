"""What a chick's next weighing should be, and whether its last one lay where it was expected."""

import numpy as np
import pandas as pd

from analysis.growth.as_arrays import Log
from analysis.growth.curves import Array
from analysis.growth.flags.falls import Followed, follow
from analysis.growth.flags.judge import expected_gain
from analysis.growth.flags.kinds import Kind
from analysis.growth.flags.population import Population
from analysis.growth.flags.settle import variance_along

NEXT = ("chick", "age_d", "median_g", "low_g", "high_g", "r", "on_course")
# Weighings that what is expected of a scatter is worth, beside those seen with as many weighings before (tried).
MISS_WORTH = 5.0
# Numbers of weighings before that are alike: by how much the logarithm (to 2) of one more than them may differ.
MUCH_ALIKE = 0.5
FAR_ON = 63  # all after so many are alike
MISS_ROUNDS = 6


def expected_next(kind: Kind, *, on: pd.Timestamp | None = None) -> pd.DataFrame:
    """What each chick should weigh a day after its last weighing, crop empty.

    Or on the morning of a day (`on`), by its weighings of the days before it; chicks without one are left out.

    Returns a row a chick, none where a kind has no curve: chick; age_d, its age then; median_g, low_g, high_g, what is
    expected if it grows on as before, and 95 % for a new weighing (NaN where the kind was learnt from too few chicks);
    r, gain a day expected now over the scatter of a weighing (below 1 a stall cannot be seen yet); on_course, whether
    its last weighing lay where it was expected: not that of a chick that has stalled, nor one that was set aside.
    """
    log, population = kind.clean, kind.population
    if population is None:
        return pd.DataFrame(columns=list(NEXT))
    followed = follow(log, population)
    last, ahead_d = (log.rows.last, np.ones(len(log.rows.sizes))) if on is None else _before(log, on)
    age_d = log.rows.age_d[last] + ahead_d
    theta, covariance = followed.theta[:, last], followed.covariance[..., last]
    value, J = population.curve.log_mass_gradient(age_d, theta)
    carried = population.scatter.alike**ahead_d
    last_off = log.log_mass[last] - population.shift(log)[last] - population.curve.log_mass(log.rows.age_d[last], theta)
    scale = population.scatter.scale(log.rows.mass_g[last])
    median = value + population.bent(age_d) + carried * last_off * population.scatter.weight(last_off / scale)
    fresh = (1 - carried**2) * population.scatter.scale(np.exp(median)) ** 2
    before = last - log.rows.each(log.rows.first)[last] + 1
    miss = usual_miss(kind, log, followed, log.rows.of[last], before)
    reach = _half_interval(population, miss * np.sqrt(variance_along(J, covariance) + fresh))
    r = expected_gain(population, followed.theta, log)[last]
    ends = (np.exp(median + step) if kind.expects else np.full(len(last), np.nan) for step in (0.0, -reach, reach))
    # One set aside as mistaken leaves the day after it unknown.
    chicks, written = log.rows.chicks[log.rows.of[last]], kind.log.rows
    latest = written.last if on is None else _before(kind.log, on)[0]
    ages = pd.Series(written.age_d[latest], index=written.chicks[written.of[latest]]).reindex(chicks)
    on_course = lay_as_expected(kind, log, followed)[last] & (ages.to_numpy() == log.rows.age_d[last])
    return pd.DataFrame(dict(zip(NEXT, (chicks, age_d, *ends, r, on_course), strict=True)))


def _before(log: Log, on: pd.Timestamp) -> tuple[np.ndarray, Array]:
    """Each chick's last weighing before a day, and how many days that is ago; weighings without a day know none."""
    day = on.toordinal() - pd.Timestamp(0).toordinal()
    earlier = (log.morning >= 0) & (log.morning < day)
    last = np.flatnonzero(earlier & ~np.append(earlier[1:] & (log.rows.of[1:] == log.rows.of[:-1]), False))
    return last, (day - log.morning[last]).astype(float)


def lay_as_expected(kind: Kind, log: Log, followed: Followed) -> np.ndarray:
    """Whether each weighing lay in the 95 % interval that was expected of it, (weighings,)."""
    rows = log.rows
    number = np.arange(len(rows.age_d)) - rows.each(rows.first)
    sd = followed.sd * usual_miss(kind, log, followed, rows.of, number)
    return np.asarray(np.abs(followed.off) <= _half_interval(kind.standard, sd))


def usual_miss(kind: Kind, log: Log, followed: Followed, chick: np.ndarray, before: np.ndarray) -> Array:
    """How far weighings lie from where they are expected, as a multiple of the scale they should have.

    Learnt from the chicks that the kind was learnt from, without the chick itself, by how many weighings came before:
    hatchlings scatter less about their kind, or more, than a curve for all ages says. The scale of Student's t by
    expectation and maximisation (Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84, from memory).

    followed : of `log`; chick, before : number of the chick, and weighings before, of what is asked, (asked,)
    """
    rows, scatter = log.rows, kind.standard.scatter
    number = np.minimum(np.arange(len(rows.age_d)) - rows.each(rows.first), FAR_ON)
    told = np.isin(rows.chicks, kind.models)[rows.of] & ~log.guessed[rows.of]
    z, step = np.where(told, followed.off / followed.sd, 0.0), np.log2(1 + np.arange(FAR_ON + 1))
    near = np.exp(-0.5 * ((step[:, None] - step) / MUCH_ALIKE) ** 2)
    shape = (len(rows.sizes), len(step))

    def without(values: Array) -> Array:
        """The sum of values over the other chicks, numbers near it counting for more, (chicks, numbers)."""
        own = np.zeros(shape)
        own[rows.of, number] = np.where(told, values, 0.0)
        own = own @ near
        return np.asarray(own.sum(axis=0) - own)

    seen, miss = without(np.ones(len(z))), np.ones(shape)
    for _ in range(MISS_ROUNDS):
        squares = without(scatter.weight(z / miss[rows.of, number]) * z**2)
        miss = np.sqrt((squares + MISS_WORTH) / (seen + MISS_WORTH))
    return np.asarray(miss[chick, np.minimum(before, FAR_ON)])


def _half_interval(population: Population, sd: Array) -> Array:
    """Half of a 95 % interval of ln mass, for a scale of what is expected."""
    from scipy.special import stdtrit

    return float(stdtrit(population.scatter.tails, 0.975)) * sd
