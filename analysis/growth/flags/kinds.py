"""What can be learnt of one kind of bird from its own chicks, before any is judged."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.growth.curves import CURVES, OF_THREE, Array, Curve
from analysis.growth.fit import fit_each, presentable
from analysis.growth.flags.falls import falls_back
from analysis.growth.flags.log import Log
from analysis.growth.flags.mornings import departure
from analysis.growth.flags.population import (
    AS_A_RULE,
    BOTH_SIDES,
    Population,
    beside_it,
    chicks_of,
    log_likelihood,
    population_of,
)
from analysis.growth.flags.settle import LEAST_SHARE, Scatter
from analysis.growth.least_squares import start_values
from analysis.growth.trade_rule import up_to_peak
from analysis.growth.weighings import Weighings, weighings_of

# Chicks that did well, and weighings of each, below which there is no curve to judge by; and chicks below which
# nothing is expected of another (practice, ours).
FEWEST, WEIGHINGS = 6, 5
# Chicks that are enough to choose a curve by.
ENOUGH = 60
# A weighing so far (ln) from those beside it is left out of a first look.
PLAINLY = 0.25
# Scatter to begin with, where no chick has a curve of its own.
AS_UNSURE = 0.05


@dataclass(frozen=True)
class Kind:
    """One kind of bird, reared one way.

    Parameters
    ----------
    log : its weighings, as written
    clean : those that are neither mistaken nor of a morning on which the scale was off
    population : what its chicks are held against; None where no curve can be fitted
    weights : how much there is for each curve, by name, one in all (Akaike weights: all have as many parameters)
    enough : whether enough chicks did well to say what is usual
    models : names of the chicks it was learnt from
    why : why nothing, or not all, can be judged; blank where it can
    """

    log: Log
    clean: Log
    population: Population | None
    weights: pd.Series
    enough: bool
    models: pd.Index
    why: Words

    @property
    def curve(self) -> str:
        """Name of the curve its chicks are held against; blank where there is none."""
        return self.population.curve.name if self.population else ""

    @property
    def expects(self) -> bool:
        """Whether it was learnt from enough chicks to say what another one should weigh."""
        return self.population is not None and len(self.models) >= FEWEST


def kind_of(log: Log) -> Kind:
    """Choose a curve for a kind, and take a first look at its chicks."""
    well = log.did_well & ~log.guessed & (log.rows.sizes >= WEIGHINGS)
    enough = int(well.sum()) >= FEWEST
    why: Words = "" if enough else _too_few(int(well.sum()))
    models = well if enough else ~log.guessed & (log.rows.sizes > 1)
    first = log.only(models & _some(models)) if models.any() else log.only(models)
    tried = _tried(first.keep(~_plainly_off(first))) if models.any() else {}
    if not tried:
        none = pd.Series(dtype=float)
        return Kind(log, log, None, none, False, log.rows.chicks[:0], why or found("growth.none-rises"))
    likely = pd.Series({name: value for name, (value, _) in tried.items()})
    weights = np.exp(likely - likely.max())
    best = tried[str(likely.idxmax())][1]
    return Kind(log, log, learn(log, models, best), weights / weights.sum(), enough, log.rows.chicks[models], why)


def learn(log: Log, models: np.ndarray, start: Population) -> Population:
    """Learn a kind from some of its chicks, up to their peaks."""
    own = log.only(models)
    return population_of(own.keep(~falls_back(own, start).past(own)), start)


def _tried(log: Log) -> dict[str, tuple[float, Population]]:
    """The log-likelihood of each curve, and the kind as it would be."""
    rising, _ = up_to_peak(log.frame())
    log = log.keep(log.frame().index.isin(rising.index))
    tried = {}
    for name in OF_THREE:
        start = _start(rising, CURVES[name])
        if start is not None:
            population = population_of(log, start, rounds=2, bends=False)
            tried[name] = log_likelihood(log, population), population
    return tried


def _start(rising: pd.DataFrame, curve: Curve) -> Population | None:
    """The middle one of the chicks that have a curve of their own, else of first guesses; None where none rises."""
    fits = presentable(fit_each(rising, curve=curve.name)).dropna(subset="A_g")
    if len(fits):
        mean = np.array([np.log(fits["A_g"]), np.log(fits["K_per_d"]), fits["ti_d"]])
        share = float(fits["sigma"].median())
    else:
        rows = weighings_of(rising)
        rows = rows.only((rows.age_d[rows.last] > rows.age_d[rows.first]) & (_rise(rows) > 0))
        if not len(rows.sizes):
            return None
        mean, share = start_values(rows, curve, additive=False).T, AS_UNSURE
    middle = np.median(mean, axis=1)
    as_a_rule = np.array(AS_A_RULE) * [1, 1, float(curve.t10_90(np.exp(middle[1])))]
    return Population(curve, middle, np.diag(as_a_rule**2), Scatter(max(share, LEAST_SHARE)))


def _rise(rows: Weighings) -> Array:
    """By how much each chick's ln mass goes up with age: its slope, up to a factor above zero."""
    age_d = rows.age_d - rows.each(rows.total(rows.age_d) / rows.sizes)
    return rows.total(age_d * np.log(rows.mass_g))


def relearn(kind: Kind, clean: Log, odd: Collection[Any]) -> Kind:
    """The same kind learnt again from weighings that were looked through, without the odd ones of its chicks.

    Where too few would be left to learn from, the odd ones stay.
    """
    assert kind.population is not None
    there = kind.models[kind.models.isin(clean.rows.chicks)]
    if not len(there):
        why = kind.why or found("growth.only-off-mornings")
        return replace(kind, clean=clean, population=None, enough=False, models=there, why=why)
    kept = there[~there.isin(list(odd))]
    models = kept if len(kept) >= (FEWEST if kind.enough else 1) else there
    population = learn(clean, clean.rows.chicks.isin(models), kind.population)
    return replace(kind, clean=clean, population=population, models=models)


def _too_few(chicks: int) -> Finding:
    if not chicks:
        return found("growth.no-models", weighings=WEIGHINGS, needed=FEWEST)
    return found("growth.few-models", chicks=chicks, weighings=WEIGHINGS, needed=FEWEST)


def _some(which: np.ndarray) -> np.ndarray:
    some = np.flatnonzero(which)
    kept = np.zeros(len(which), bool)
    kept[some[np.linspace(0, len(some) - 1, min(ENOUGH, len(some))).astype(int)]] = True
    return kept


def _plainly_off(log: Log) -> np.ndarray:
    """Weighings far outside those beside them, seen without any curve."""
    stood, beside = beside_it(log, log.log_mass, np.ones(len(log.log_mass), bool), BOTH_SIDES)
    return (beside >= 3) & (np.abs(log.log_mass - stood) > PLAINLY)


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
