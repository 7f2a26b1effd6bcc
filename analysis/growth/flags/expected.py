"""What a chick's next weighing is expected to show, from its own weighings so far and its kind."""

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.flags.follow import Followed, follow
from analysis.growth.flags.judge import expected_gain
from analysis.growth.flags.kinds import Kind
from analysis.growth.flags.population import Population
from analysis.growth.flags.settle import variance_along

COLUMNS = ("chick", "age_d", "median_g", "low_g", "high_g", "r")


def expected_next(kind: Kind, days: float = 1.0) -> pd.DataFrame:
    """What each chick should weigh so many days after its last weighing, crop empty.

    Returns
    -------
    Frame with a row a chick: chick, age_d (then), median_g, low_g and high_g (95 % for a new weighing), r (gain a day
    expected now over the scatter of a weighing: below 1 a stall cannot be seen yet). No rows where a kind has no
    curve.
    """
    log, population = kind.clean, kind.population
    if population is None:
        return pd.DataFrame(columns=list(COLUMNS))
    followed, last = follow(log, population), log.rows.last
    age_d = log.rows.age_d[last] + days
    theta, covariance = followed.theta[:, last], followed.covariance[..., last]
    value, J = population.curve.log_mass_gradient(age_d, theta)
    median = value + population.bent(age_d)
    reach = interval(population, np.sqrt(variance_along(J, covariance) + population.scatter.scale(np.exp(median)) ** 2))
    r = expected_gain(population, followed.theta, log)[last]
    ends = (np.exp(median + step) for step in (0.0, -reach, reach))
    return pd.DataFrame(dict(zip(COLUMNS, (log.rows.chicks, age_d, *ends, r), strict=True)))


def interval(population: Population, sd: Array) -> Array:
    """Half of a 95 % interval of ln mass, for a scale of what is expected."""
    from scipy.special import stdtrit

    return float(stdtrit(population.scatter.tails, 0.975)) * sd


def held(followed: Followed, population: Population) -> np.ndarray:
    """Whether each weighing lay in the interval that was expected of it, (weighings,)."""
    return np.abs(followed.off) <= interval(population, followed.sd)
