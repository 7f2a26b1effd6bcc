"""What a chick's next weighing is expected to show, from its own weighings so far and its kind."""

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.flags.falls import Followed, follow
from analysis.growth.flags.judge import expected_gain
from analysis.growth.flags.kinds import Kind
from analysis.growth.flags.log import Log
from analysis.growth.flags.population import Population
from analysis.growth.flags.settle import variance_along

COLUMNS = ("chick", "age_d", "median_g", "low_g", "high_g", "r", "on_course")


def expected_next(kind: Kind, days: float = 1.0, *, on: pd.Timestamp | None = None) -> pd.DataFrame:
    """What each chick should weigh so many days after its last weighing, crop empty.

    Parameters
    ----------
    kind : of a `Watch`
    days : how long after its last weighing
    on : a day in the place of `days`: what each chick should weigh that morning, by its weighings of the days before
        it; chicks without one are left out

    Returns
    -------
    Frame with a row a chick, none where a kind has no curve:
        chick, age_d : its name, and its age then
        median_g, low_g, high_g : what is expected if it grows on as before, and 95 % for a new weighing; NaN where the
            kind was learnt from too few chicks to expect anything of another
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
    followed, last, ahead_d = follow(log, population), log.rows.last, np.full(len(log.rows.sizes), float(days))
    if on is not None:
        last, ahead_d = _before(log, on)
    age_d = log.rows.age_d[last] + ahead_d
    theta, covariance = followed.theta[:, last], followed.covariance[..., last]
    value, J = population.curve.log_mass_gradient(age_d, theta)
    carried = population.scatter.alike**ahead_d
    last_off = log.log_mass[last] - population.shift(log)[last] - population.curve.log_mass(log.rows.age_d[last], theta)
    scale = population.scatter.scale(log.rows.mass_g[last])
    median = value + population.bent(age_d) + carried * last_off * population.scatter.weight(last_off / scale)
    fresh = (1 - carried**2) * population.scatter.scale(np.exp(median)) ** 2
    reach = interval(population, np.sqrt(variance_along(J, covariance) + fresh))
    r = expected_gain(population, followed.theta, log)[last]
    ends = (np.exp(median + step) if kind.expects else np.full(len(last), np.nan) for step in (0.0, -reach, reach))
    on_course = held(followed, population)[last] & _is_the_last(kind, last, on)
    return pd.DataFrame(dict(zip(COLUMNS, (log.rows.chicks[log.of[last]], age_d, *ends, r, on_course), strict=True)))


def _before(log: Log, on: pd.Timestamp) -> tuple[np.ndarray, Array]:
    """Each chick's last weighing before a day, and how many days that is ago; weighings without a day know none."""
    day = on.toordinal() - pd.Timestamp(0).toordinal()
    earlier = (log.morning >= 0) & (log.morning < day)
    last = np.flatnonzero(earlier & ~np.append(earlier[1:] & (log.of[1:] == log.of[:-1]), False))
    return last, (day - log.morning[last]).astype(float)


def _is_the_last(kind: Kind, last: np.ndarray, on: pd.Timestamp | None) -> np.ndarray:
    """Whether these are the last weighings as written; one set aside as mistaken leaves the day after it unknown."""
    log, written = kind.clean, kind.log
    if on is None:
        ages = dict(zip(written.rows.chicks, written.rows.age_d[written.rows.last], strict=True))
    else:
        before, _ = _before(written, on)
        ages = dict(zip(written.rows.chicks[written.of[before]], written.rows.age_d[before], strict=True))
    return np.array([ages[log.rows.chicks[log.of[at]]] == log.rows.age_d[at] for at in last], dtype=bool)


def interval(population: Population, sd: Array) -> Array:
    """Half of a 95 % interval of ln mass, for a scale of what is expected."""
    from scipy.special import stdtrit

    return float(stdtrit(population.scatter.tails, 0.975)) * sd


def held(followed: Followed, population: Population) -> np.ndarray:
    """Whether each weighing lay in the interval that was expected of it, (weighings,)."""
    return np.abs(followed.off) <= interval(population, followed.sd)
