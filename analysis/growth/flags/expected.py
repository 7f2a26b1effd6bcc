"""What a chick's next weighing is expected to show, from its own weighings so far and its kind."""

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.flags.follow import Followed, follow
from analysis.growth.flags.judge import expected_gain
from analysis.growth.flags.kinds import Kind
from analysis.growth.flags.population import Population
from analysis.growth.flags.settle import variance_along

COLUMNS = ("chick", "age_d", "median_g", "low_g", "high_g", "r", "on_course")


def expected_next(kind: Kind, days: float = 1.0) -> pd.DataFrame:
    """What each chick should weigh so many days after its last weighing, crop empty.

    Returns
    -------
    Frame with a row a chick, none where a kind has no curve:
        chick, age_d : its name, and its age then
        median_g, low_g, high_g : what is expected if it grows on as before, and 95 % for a new weighing
        r : gain a day expected now over the scatter of a weighing; below 1 a stall cannot be seen yet
        on_course : whether its last weighing lay where it was expected; of a chick that has stalled, or whose last
            weighing was set aside, it did not

    Examples
    --------
    >>> from analysis.growth.flags import watch
    >>> age_d, A_g = np.arange(1, 21), 90 * np.exp(0.1 * np.sin(np.arange(8)))
    >>> mass_g = A_g[:, None] / (1 + np.exp(-0.25 * (age_d - 11))) * np.exp(0.01 * np.sin(7.0 * age_d))
    >>> chick = np.repeat([f"K{i}" for i in range(8)], 20)
    >>> frame = pd.DataFrame({"chick": chick, "age_d": np.tile(age_d, 8), "mass_g": mass_g.ravel()})
    >>> next_one = expected_next(watch({"": frame}).kinds[""]).iloc[0]
    >>> round(next_one["median_g"]), bool(next_one["on_course"])
    (84, True)
    """
    log, population = kind.clean, kind.population
    if population is None:
        return pd.DataFrame(columns=list(COLUMNS))
    followed, last = follow(log, population), log.rows.last
    age_d = log.rows.age_d[last] + days
    theta, covariance = followed.theta[:, last], followed.covariance[..., last]
    value, J = population.curve.log_mass_gradient(age_d, theta)
    carried = population.scatter.alike**days
    last_off = log.log_mass[last] - population.shift(log)[last] - population.curve.log_mass(log.rows.age_d[last], theta)
    scale = population.scatter.scale(log.rows.mass_g[last])
    median = value + population.bent(age_d) + carried * last_off * population.scatter.weight(last_off / scale)
    fresh = (1 - carried**2) * population.scatter.scale(np.exp(median)) ** 2
    reach = interval(population, np.sqrt(variance_along(J, covariance) + fresh))
    r = expected_gain(population, followed.theta, log)[last]
    ends = (np.exp(median + step) for step in (0.0, -reach, reach))
    # A last weighing that was set aside as mistaken leaves the day after it unknown.
    written = dict(zip(kind.log.rows.chicks, kind.log.rows.age_d[kind.log.rows.last], strict=True))
    is_last = np.array([written[chick] for chick in log.rows.chicks]) == log.rows.age_d[last]
    on_course = held(followed, population)[last] & is_last
    return pd.DataFrame(dict(zip(COLUMNS, (log.rows.chicks, age_d, *ends, r, on_course), strict=True)))


def interval(population: Population, sd: Array) -> Array:
    """Half of a 95 % interval of ln mass, for a scale of what is expected."""
    from scipy.special import stdtrit

    return float(stdtrit(population.scatter.tails, 0.975)) * sd


def held(followed: Followed, population: Population) -> np.ndarray:
    """Whether each weighing lay in the interval that was expected of it, (weighings,)."""
    return np.abs(followed.off) <= interval(population, followed.sd)
