"""What can be learnt of one kind of bird from its own chicks, before any is judged."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Words, found
from analysis.growth.as_arrays import Log, evenly, weighings_of
from analysis.growth.curves import CURVES, OF_THREE, Array, Curve
from analysis.growth.each_chick import fit_each, presentable
from analysis.growth.flags.falls import falls_back
from analysis.growth.flags.population import (
    AS_A_RULE,
    WORTH,
    Population,
    beside_it,
    chicks_of,
    log_likelihood,
    population_of,
)
from analysis.growth.flags.settle import LEAST_SHARE, Scatter, invert
from analysis.growth.least_squares import start_values
from analysis.growth.trade_rule import up_to_peak

# Chicks that did well, and weighings of each, below which there is no curve to judge by; and chicks below which
# nothing is expected of another (practice, ours).
FEWEST, WEIGHINGS = 6, 5
# Chicks that are enough to choose a curve by.
ENOUGH = 60
# A weighing so far (ln) from those beside it is left out of a first look.
PLAINLY = 0.25
# Scatter to begin with, where no chick has a curve of its own.
AS_UNSURE = 0.05
# Chicks are compared from this share of the final weight on (ours).
LATE = 0.15
# One healthy chick in a hundred is called off the curve: half of them light, half unusual (the level is ours).
LEVEL = 0.01
# A direction of which the weighings tell less than this share is not judged.
LEAST_TOLD = 0.3


@dataclass(frozen=True)
class Kind:
    """One kind of bird, reared one way."""

    log: Log  # its weighings, as written
    clean: Log  # those that are neither mistaken nor of a morning on which the scale was off
    population: Population | None  # what its chicks are held against; None where no curve can be fitted
    weights: pd.Series  # how much there is for each curve, by name, one in all (Akaike: all have as many parameters)
    enough: bool  # whether enough chicks did well to say what is usual
    models: pd.Index  # names of the chicks it was learnt from
    why: Words  # why nothing, or not all, can be judged; blank where it can

    @property
    def curve(self) -> str:
        """Name of the curve its chicks are held against; blank where there is none."""
        return self.population.curve.name if self.population else ""

    @property
    def standard(self) -> Population:
        """What its chicks are held against, of a kind that has a curve to judge by."""
        assert self.population is not None
        return self.population

    @property
    def expects(self) -> bool:
        """Whether it was learnt from enough chicks to say what another one should weigh."""
        return self.population is not None and len(self.models) >= FEWEST


def kind_of(log: Log) -> Kind:
    """Choose a curve for a kind, and take a first look at its chicks."""
    well = log.did_well & ~log.guessed & (log.rows.sizes >= WEIGHINGS)
    enough = int(well.sum()) >= FEWEST
    why: Words = "" if enough else found("growth.no-models", weighings=WEIGHINGS, needed=FEWEST)
    if not enough and well.any():
        why = found("growth.few-models", chicks=int(well.sum()), weighings=WEIGHINGS, needed=FEWEST)
    models = well if enough else ~log.guessed & (log.rows.sizes > 1)
    tried = {}
    if models.any():
        first = log.only(evenly(models, ENOUGH))
        stood, number = beside_it(first, first.log_mass, np.ones(len(first.log_mass), bool))
        plainly_off = (number >= 3) & (np.abs(first.log_mass - stood) > PLAINLY)  # seen without any curve
        tried = _tried(first.keep(~plainly_off))
    if not tried:
        none = pd.Series(dtype=float)
        return Kind(log, log, None, none, False, log.rows.chicks[:0], why or found("growth.none-rises"))
    likely = pd.Series({name: value for name, (value, _) in tried.items()})
    weights = np.exp(likely - likely.max())
    best = tried[str(likely.idxmax())][1]
    return Kind(log, log, _learn(log, models, best), weights / weights.sum(), enough, log.rows.chicks[models], why)


def relearn(kind: Kind, clean: Log, odd: Collection[Any]) -> Kind:
    """The same kind learnt again from weighings that were looked through, without the odd ones of its chicks.

    Where too few would be left to learn from, the odd ones stay.
    """
    there = kind.models[kind.models.isin(clean.rows.chicks)]
    if not len(there):
        why = kind.why or found("growth.only-off-mornings")
        return replace(kind, clean=clean, population=None, enough=False, models=there, why=why)
    kept = there[~there.isin(list(odd))]
    models = kept if len(kept) >= (FEWEST if kind.enough else 1) else there
    population = _learn(clean, clean.rows.chicks.isin(models), kind.standard)
    return replace(kind, clean=clean, population=population, models=models)


def _learn(log: Log, models: np.ndarray, start: Population) -> Population:
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
        centred = rows.age_d - rows.each(rows.total(rows.age_d) / rows.sizes)
        rises = rows.total(centred * np.log(rows.mass_g)) > 0
        rows = rows.only((rows.age_d[rows.last] > rows.age_d[rows.first]) & rises)
        if not len(rows.sizes):
            return None
        mean, share = start_values(rows, curve, additive=False).T, AS_UNSURE
    middle = np.median(mean, axis=1)
    as_a_rule = np.array(AS_A_RULE) * [1, 1, float(curve.t10_90(np.exp(middle[1])))]
    return Population(curve, middle, np.diag(as_a_rule**2), Scatter(max(share, LEAST_SHARE)))


def standing(kind: Kind, log: Log) -> pd.DataFrame:
    """How each chick stands among the others of its kind, by all its weighings up to the peak.

    A row for each chick of sure age with two weighings and more, none where too few chicks did well: chick; share, by
    how much its weights stand above (below: negative) the others' typical chick; light_p and shape_p, how often a
    healthy chick stands as low, and departs as far in any way; at, its last weighing up to the peak, as a place in
    `log`; odd_age_d and odd_share, where its curve stands furthest from the typical one, and by how much.
    """
    population = kind.standard
    # Once hours of age no longer count for a tenth of the weight; of a chick that has no weighing so late, by all.
    late = grown_enough(log, population)
    telling = late | log.rows.each(log.rows.total(late.astype(float)) == 0)
    rising = np.flatnonzero(telling & ~falls_back(log, population).past(log))
    own = log.keep(np.isin(np.arange(len(log.log_mass)), rising))
    chicks = chicks_of(own, population)
    value, J = population.curve.log_mass_gradient(own.rows.age_d, own.rows.each(chicks.theta))
    apart = value - population.curve.log_mass(own.rows.age_d, population.mean[:, None])
    slope = np.add.reduceat(J, own.rows.first, axis=1) / own.rows.sizes if len(rising) else J
    found = departure(population, chicks.theta, chicks.covariance, slope, np.isin(own.rows.chicks, kind.models))
    judged = np.flatnonzero(~own.guessed & (own.rows.sizes > 1) & kind.enough)
    ends = [slice(own.rows.first[i], own.rows.last[i] + 1) for i in judged]
    most = [end.start + int(np.argmax(np.abs(apart[end]))) for end in ends]
    columns = {"chick": own.rows.chicks[judged], "share": np.expm1(found.light[judged])}
    columns |= {"light_p": found.light_p[judged], "shape_p": found.shape_p[judged]}
    columns["at"] = rising[[end.stop - 1 for end in ends]] if ends else []
    return pd.DataFrame(columns | {"odd_age_d": own.rows.age_d[most], "odd_share": np.expm1(apart[most])})


def beside(kind: Kind) -> pd.DataFrame:
    """How far each weighing up to the peak stands from the typical chick of a kind, crop empty.

    By chick and age: chick, age_d, share (below 0 where lighter); no rows where too few chicks did well.
    """
    log, population = kind.clean, kind.population
    if population is None or not kind.enough:
        return pd.DataFrame({"chick": [], "age_d": [], "share": []})
    log = log.keep(~falls_back(log, population).past(log) & ~log.guessed[log.rows.of])
    typical = population.curve.log_mass(log.rows.age_d, population.mean[:, None]) + population.bent(log.rows.age_d)
    share = np.expm1(log.log_mass - population.filled(log) - typical)
    return pd.DataFrame({"chick": log.rows.chicks[log.rows.of], "age_d": log.rows.age_d, "share": share})


def grown_enough(log: Log, population: Population, share: float = LATE) -> np.ndarray:
    """Weighings of an age at which a typical chick has this share of its final weight."""
    typical = population.curve.log_mass(log.rows.age_d, population.mean[:, None])
    return np.asarray(typical > population.mean[0] + np.log(share))


@dataclass(frozen=True)
class Departure:
    """How far chicks depart from the others of their kind, (chicks,)."""

    light: Array  # ln mass below the others' typical chick, over the ages asked; negative where lighter
    light_p: Array  # how often a healthy chick is as light
    shape_p: Array  # how often one departs as far in any way


def departure(population: Population, theta: Array, covariance: Array, slope: Array, among: np.ndarray) -> Departure:
    """Hold chicks against the others.

    theta, covariance : each chick's curve, its kind as prior; slope : (3, chicks), derivatives of the ln mass that is
    judged by ln A, ln K and ti; among : whether a chick is one of those the population was learnt from
    """
    from scipy.special import stdtr

    chicks = max(population.chicks, 2)
    mean, between = _without(population, theta, covariance, among)
    usual = invert(np.repeat(population.between[:, :, None], 1, axis=2))
    information = invert(covariance) - usual
    apart = theta - population.mean[:, None]
    evidence = np.einsum("ijn,jn->in", information, apart) + np.einsum("ijn,jn->in", usual, apart)
    # The chick's own evidence about its departure from `mean`, and the departure it speaks for.
    evidence = evidence - np.einsum("ijn,jn->in", information, mean - population.mean[:, None])
    posterior = invert(information + invert(between))
    moved = np.einsum("ijn,jn->in", posterior, evidence)
    known = between - posterior
    freedom = chicks - 1 - among + WORTH / 2
    wider = 1 + 1 / (chicks - among)
    light = np.einsum("in,in->n", slope, moved)
    spread = np.sqrt(np.maximum(np.einsum("in,ijn,jn->n", slope, known, slope), 1e-12) * wider)
    light_p = stdtr(freedom, light / spread)
    return Departure(light, light_p, _shape_p(moved, between, posterior, freedom, wider))


def _without(population: Population, theta: Array, covariance: Array, among: np.ndarray) -> tuple[Array, Array]:
    """Mean and covariance of the kind without each chick that it was learnt from, (3, chicks), (3, 3, chicks)."""
    n = population.chicks
    mean = np.repeat(population.mean[:, None], theta.shape[1], axis=1)
    between = np.repeat(population.between[:, :, None], theta.shape[1], axis=2)
    if n < 2:
        return mean, between
    effect = theta - mean
    seen = np.einsum("in,jn->ijn", effect, effect) * n / (n - 1) + covariance
    less = ((n + WORTH) * between - seen) / (n - 1 + WORTH)
    # What is left stays a covariance: no direction falls below a tenth of what it was with the chick.
    values, vectors = np.linalg.eigh(np.moveaxis(less, -1, 0))
    floor = np.einsum("nij,nik,nkj->nj", vectors, np.moveaxis(0.1 * between, -1, 0), vectors)
    less = np.moveaxis(np.einsum("nij,nj,nkj->nik", vectors, np.maximum(values, floor), vectors), 0, -1)
    return np.where(among, mean - effect / (n - 1), mean), np.where(among, less, between)


def _shape_p(moved: Array, between: Array, posterior: Array, freedom: Array, wider: Array) -> Array:
    """How often a chick departs as far, in the directions its weighings tell (Hotelling's T² against F)."""
    from scipy.special import fdtrc

    root = np.linalg.cholesky(np.moveaxis(between, -1, 0))
    unroot = np.linalg.inv(root)
    b = np.einsum("nij,jn->ni", unroot, moved)
    left = np.einsum("nij,jkn,nlk->nil", unroot, posterior, unroot)
    told, axes = np.linalg.eigh(np.eye(3) - left)
    along = np.einsum("nij,ni->nj", axes, b)
    judged = told > LEAST_TOLD
    far = np.sum(np.where(judged, along**2 / np.maximum(told, LEAST_TOLD), 0.0), axis=1) / wider
    p = judged.sum(axis=1)
    below = np.maximum(freedom - p + 1, 1.0)
    share = far * below / (np.maximum(p, 1) * np.maximum(freedom, 1.0))
    return np.where(p > 0, fdtrc(np.maximum(p, 1), below, share), 1.0)
