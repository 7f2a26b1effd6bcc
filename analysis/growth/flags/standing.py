"""How each chick stands among the others of its kind: how much lighter or heavier, and on what course."""

import numpy as np
import pandas as pd

from analysis.growth.flags.falls import falls_back
from analysis.growth.flags.kinds import Kind
from analysis.growth.flags.log import Log
from analysis.growth.flags.off_curve import departure
from analysis.growth.flags.population import Population, chicks_of

# Chicks are compared from this share of the final weight on (ours).
LATE = 0.15


def standing(kind: Kind, log: Log) -> pd.DataFrame:
    """How each chick stands among the others of its kind, by all its weighings up to the peak.

    Returns
    -------
    Frame with a row for each chick of sure age with two weighings and more, none where too few chicks did well:
        chick : its name
        share : by how much its weights stand above (below: negative) the others' typical chick, as a share
        light_p, shape_p : how often a healthy chick stands as low; departs as far in any way
        at : its last weighing up to the peak, as a place in `log`
        odd_age_d, odd_share : the age at which its curve stands furthest from the typical one, and by how much
    """
    population = kind.population
    assert population is not None
    rising = np.flatnonzero(told(log, population) & ~falls_back(log, population).past(log))
    own = log.keep(np.isin(np.arange(len(log.log_mass)), rising))
    chicks = chicks_of(own, population)
    theta = np.repeat(chicks.theta, own.rows.sizes, axis=1)
    value, J = population.curve.log_mass_gradient(own.rows.age_d, theta)
    apart = value - population.curve.log_mass(own.rows.age_d, population.mean[:, None])
    slope = np.add.reduceat(J, own.rows.first, axis=1) / own.rows.sizes if len(rising) else J
    found = departure(population, chicks.theta, chicks.covariance, slope, among(kind, own))
    judged = np.flatnonzero(~own.guessed & (own.rows.sizes > 1) & kind.enough)
    ends = [slice(own.rows.first[i], own.rows.last[i] + 1) for i in judged]
    most = [end.start + int(np.argmax(np.abs(apart[end]))) for end in ends]
    return pd.DataFrame(
        {
            "chick": own.rows.chicks[judged],
            "share": np.expm1(found.light[judged]),
            "light_p": found.light_p[judged],
            "shape_p": found.shape_p[judged],
            "at": rising[[end.stop - 1 for end in ends]] if ends else [],
            "odd_age_d": own.rows.age_d[most],
            "odd_share": np.expm1(apart[most]),
        }
    )


def told(log: Log, population: Population) -> np.ndarray:
    """Weighings by which chicks are compared: once hours of age no longer count for a tenth of the weight.

    Of a chick that has none so late, all.
    """
    late = grown_enough(log, population)
    telling: np.ndarray = late | log.rows.each(log.rows.total(late.astype(float)) == 0)
    return telling


def grown_enough(log: Log, population: Population, share: float = LATE) -> np.ndarray:
    """Weighings of an age at which a typical chick has this share of its final weight."""
    typical = population.curve.log_mass(log.rows.age_d, population.mean[:, None])
    enough: np.ndarray = typical > population.mean[0] + np.log(share)
    return enough


def among(kind: Kind, log: Log) -> np.ndarray:
    """Which chicks the kind was learnt from."""
    return np.isin(log.rows.chicks, kind.models)


def beside(kind: Kind) -> pd.DataFrame:
    """How far each weighing up to the peak stands from the typical chick of a kind, crop empty.

    Returns
    -------
    Frame, by chick and age: chick, age_d, share (below 0 where lighter); none where too few chicks did well.
    """
    log, population = kind.clean, kind.population
    if population is None or not kind.enough:
        return pd.DataFrame({"chick": [], "age_d": [], "share": []})
    log = log.keep(~falls_back(log, population).past(log) & ~log.guessed[log.of])
    typical = population.curve.log_mass(log.rows.age_d, population.mean[:, None]) + population.bent(log.rows.age_d)
    share = np.expm1(log.log_mass - population.filled(log) - typical)
    return pd.DataFrame({"chick": log.rows.chicks[log.of], "age_d": log.rows.age_d, "share": share})
