"""The search for a mixed fit: Lindstrom & Bates' alternation between curves and standard deviations.

At the present parameters every curve is made straight. Then the likelihood of a linear mixed model gives the
standard deviations, and with them the population, the pairs and the chicks; there the curves are made straight
again, until nothing moves.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.likelihood import Evidence, Level, Likelihood, Stage, split
from analysis.growth.mixed.straight import Model, Straight

# Of ln A, of ln K and of the days from 10 % to 90 %: a step longer than this is cut.
LONGEST = 0.7
# A sum of squares that grows by no more than this, in units of sigma², has not grown.
SAME_SUM = 1e-6
# So often a step is halved, and within each of these that of a chick alone.
MOST_HALVED, HALVED_ALONE = 8, 3
# Rounds of a search that is gone on with.
MOST_ROUNDS = 30
# Rounds after which the curves follow the standard deviations for some steps before the next round.
EASY, MOST_STEPS = 15, 4
# Scaled so that a typical chick's own weighings know a parameter to one sigma, a standard deviation below the
# first of these is zero for every purpose, and one above the second leaves nothing to the population.
LEAST, MOST = 1e-4, 1e4
# A search for one begins no lower than this, since nothing pulls it off zero; found below, it is tried at zero.
LOW = 0.05
# What log-likelihood a standard deviation must bring to be kept.
NOTHING = 1e-4
# atanh of a partial correlation: 0.9998.
STRAIGHTEST = 5.0
# Settled: a round moves population and chicks by no more than this share of a standard error, and the
# log-likelihood by no more than that. After PATIENT rounds the looser ones will do.
SETTLED, SAME = (1e-4, 1e-2), (1e-6, 1e-2)
PATIENT = 20
# Standard deviations that change by less than this share are followed even where curves bend.
NEAR = 0.2
Objective = Callable[[Evidence, Array, Array], tuple[Likelihood, Array]]
Limits = list[tuple[float, float]]


@dataclass(frozen=True)
class State:
    """Where a search stands."""

    mean: Array  # (3,), population
    pair: Array | None  # (3, pairs), their effects; None without a pair level
    chick: Array  # (3, chicks), their effects
    unit: Array  # (3,), in which parameters are counted, so that all are of one size
    straight: Straight  # the curves made straight here

    def evidence(self, model: Model) -> Evidence:
        """What the weighings say about each chick, less the population's mean."""
        return model.evidence(self.straight, self.theta(model) - self.mean[:, None], self.unit)

    def theta(self, model: Model) -> Array:
        """Parameters of each chick, (3, chicks)."""
        theta = self.mean[:, None] + self.chick
        return theta if self.pair is None else theta + model.of_chicks(self.pair)


@dataclass(frozen=True)
class Found:
    """The end of a search."""

    state: State
    x: Array  # parameters of the levels, standard deviations in units of sigma and of `state.unit`
    evidence: Evidence  # the straightened weighings
    at: Likelihood  # their likelihood at x
    settled: bool  # whether a further round would change nothing
    rounds: int  # how many it took

    @property
    def value(self) -> float:
        """Log-likelihood."""
        return float(self.at.value[0])


def search(model: Model, state: State, x: Array, limits: Limits, function: Objective, most_rounds: int) -> Found:
    """Alternate until nothing moves; `function` is what standard deviations are to make greatest."""
    before, share, last = -np.inf, 1.0, np.zeros_like(x)
    for turn in range(most_rounds):
        evidence = state.evidence(model)
        step = _climb(evidence, state.unit, x, limits, function) - x
        # Standard deviations that swing to and fro are taken half way.
        share = max(share / 2, 0.1) if np.sum(step * last) < 0 else min(1.5 * share, 1.0)
        at, moved, share, state = _round(model, state, evidence, x, step, share, function)
        # Half way is no end while the whole way would still gain.
        whole = at if share == 1 else function(evidence, x + step, state.unit)[0]
        x, last, loose = x + share * step, step, int(turn >= PATIENT)
        change = max(abs(float(at.value[0]) - before), float(whole.value[0] - at.value[0]))
        settled = moved < SETTLED[loose] and change < SAME[loose] * (1 + 1e-6 * evidence.n)
        if settled or model.lost(state.mean):
            break
        before = float(at.value[0])
        if share < 1 or turn >= EASY:
            state = _follow(model, state, x, function)
    return Found(state, x, evidence, at, settled, turn + 1)


def _round(
    model: Model, state: State, evidence: Evidence, x: Array, step: Array, share: float, function: Objective
) -> tuple[Likelihood, float, float, State]:
    """Go where the standard deviations point, as far with those as the curves still follow their forecast."""
    while True:
        at = function(evidence, x + share * step, state.unit)[0]
        now, moved, as_forecast = advance(model, state, at)
        if as_forecast or share * np.max(np.abs(step)) < NEAR:
            return at, moved, share, now
        share /= 2


def _climb(evidence: Evidence, unit: Array, x: Array, limits: Limits, function: Objective) -> Array:
    """Standard deviations that make `function` greatest, from x, by a quasi-Newton method within bounds."""
    from scipy.optimize import minimize

    chicks = evidence.P.shape[-1]

    def down(x: Array) -> tuple[float, Array]:
        at, slope = function(evidence, x[:, None], unit)
        return -float(at.value[0]) / chicks, -slope[:, 0] / chicks

    sds = np.array([limit[0] == np.log(LEAST) for limit in limits])
    start = np.where(sds, np.maximum(x[:, 0], np.log(LOW)), x[:, 0])
    options = {"ftol": 1e-14, "gtol": 1e-6, "maxiter": 30, "maxcor": 20}
    found = minimize(down, start, jac=True, method="L-BFGS-B", bounds=limits, options=options)
    at_zero = np.where(sds & (found.x < np.log(LOW)), np.log(LEAST), found.x)
    as_good = np.any(at_zero != found.x) and down(at_zero)[0] <= found.fun + NOTHING / chicks
    return np.asarray(at_zero if as_good else found.x)[:, None]


def bounds(levels: tuple[Level, ...]) -> Limits:
    """Bounds on x: those of standard deviations, and of partial correlations."""
    sd, tilt = (np.log(LEAST), np.log(MOST)), (-STRAIGHTEST, STRAIGHTEST)
    each = [[sd] * len(level.effects) + [tilt] * (level.size - len(level.effects)) for level in levels]
    return [bound for level in each for bound in level]


def at_zero(levels: tuple[Level, ...], x: Array) -> np.ndarray:
    """Whether each standard deviation is zero for every purpose, (levels, 3)."""
    sds = np.stack([level.sds(part)[:, 0] for level, part in zip(levels, split(levels, x), strict=False)])
    return sds < 2 * LEAST


def _follow(model: Model, state: State, x: Array, function: Objective) -> State:
    """Take the curves to where these standard deviations want them, before the next are sought."""
    for _ in range(MOST_STEPS):
        state, moved, _ = advance(model, state, function(state.evidence(model), x, state.unit)[0])
        if moved < SETTLED[0] / 10:
            break
    return state


def advance(model: Model, state: State, at: Likelihood) -> tuple[State, float, bool]:
    """Go where a likelihood points: a Gauss–Newton step on the penalised sum of squares, shorter where curves bend.

    The population's step is halved until the sum falls; before that, the chicks that would be worse off take
    shorter steps of their own. Returns the new state, how far the whole step would go, in standard errors, and
    whether the curves followed it about as forecast.
    """
    by_mean, by_pair, by_chick = _steps(model, state, at)
    before, least = _penalised(model, state, at), SAME_SUM * float(at.sigma[0]) ** 2
    for share in 0.5 ** np.arange(MOST_HALVED):
        pair = state.pair if state.pair is None or by_pair is None else state.pair + share * by_pair
        now = replace(state, mean=state.mean + share * by_mean, pair=pair, chick=state.chick + share * by_chick)
        now = replace(now, straight=model.straighten(now.theta(model)))
        if share == 1:
            far, as_forecast = _far(model, state, at, now)
        now, change = _each_as_far_as_it_may(model, state, now, at, before)
        if change <= least:
            break
    return now, far, as_forecast


def _each_as_far_as_it_may(
    model: Model, state: State, now: State, at: Likelihood, before: Array
) -> tuple[State, float]:
    """Shorter steps for the chicks that are worse off than before; and by how much all are worse off together."""
    by_chick, least = now.chick - state.chick, SAME_SUM * float(at.sigma[0]) ** 2
    change = _change(model, now, at, before)
    share = np.ones(len(change) - 1)
    for _ in range(HALVED_ALONE):
        failed = change[1:] > least
        if change.sum() <= least or not failed.any():
            break
        share[failed] /= 2
        now = replace(now, chick=state.chick + share * by_chick)
        now = replace(now, straight=model.again(now.straight, now.theta(model), failed))
        change = _change(model, now, at, before)
    return now, float(change.sum())


def _change(model: Model, now: State, at: Likelihood, before: Array) -> Array:
    """How much worse off than before; nothing where a curve was not defined at a weighing then."""
    defined = np.isfinite(before)
    return np.where(defined, _penalised(model, now, at), 0.0) - np.where(defined, before, 0.0)


def _penalised(model: Model, state: State, at: Likelihood) -> Array:
    """What the likelihood's standard deviations make of a state, (1 + chicks,): of all pairs, and of each chick.

    The sum of squares of a chick's weighings, and of its effects in units of their spread.
    """
    pair = 0.0 if state.pair is None or at.pair is None else np.sum(_far_out(at.pair, state.pair, state.unit))
    return np.append(pair, state.straight.rss + _far_out(at.chick, state.chick, state.unit))


def _far_out(stage: Stage, effects: Array, unit: Array) -> Array:
    """Sum of squares of each unit's effects, in standard deviations and freed of their correlations."""
    sd = np.sqrt(np.diagonal(stage.omega[..., 0, 0]))
    on = sd > 0
    z = effects[on] / (unit * sd)[on, None]
    tilt = stage.omega[on][:, on, 0, 0] / (sd[on, None] * sd[on])
    return np.asarray(np.sum(z * np.linalg.solve(tilt, z), axis=0))


def _far(model: Model, state: State, at: Likelihood, now: State) -> tuple[float, bool]:
    """How far a step went, in standard errors, and whether the curves bent little beside what it promised."""
    step, sigma = now.theta(model) - state.theta(model), float(at.sigma[0])
    promised = np.einsum("in,ijn,jn->n", step, state.straight.P, step)
    forecast = state.straight.rss - 2 * np.sum(step * state.straight.slope, axis=0) + promised
    defined = np.isfinite(forecast)
    bent = np.sum(now.straight.rss[defined] - forecast[defined])
    se = state.unit * sigma * np.sqrt(np.diagonal(at.variance[..., 0, 0]))
    of_mean = np.max(np.abs(now.mean - state.mean) / np.where(se > 0, se, np.inf))
    far = float(max(of_mean, np.sqrt(np.mean(promised)) / sigma))
    return far, bool(bent <= np.sum(promised) + SAME_SUM * sigma**2)


def reach(model: Model, mean: Array) -> Array:
    """The size of the parameters: one on a logarithm, itself for A and K, days from 10 % to 90 % for ti."""
    A, K, _ = model.to_units(mean)
    growing = float(model.curve.t10_90(K))
    return np.array([A, K, growing]) if model.natural else np.array([1.0, 1.0, growing])


def _steps(model: Model, state: State, at: Likelihood) -> tuple[Array, Array | None, Array]:
    """Steps of population, pairs and chicks; cut together where the population's is too long, and one by one."""
    unit, longest, mean, by_pair = state.unit[:, None], LONGEST * reach(model, state.mean), at.mean, None
    by_mean = state.mean + state.unit * mean[:, 0, 0] - state.mean
    all_by = min(1.0, float(np.min(longest / np.maximum(np.abs(by_mean), 1e-300))))
    if at.pair is not None and state.pair is not None:
        pair = at.pair.effects(mean)
        mean = mean + model.of_chicks(pair)
        by_pair = all_by * _cut(pair[:, 0] * unit - state.pair, longest)
    chick = at.chick.effects(mean)[:, 0] * unit
    return all_by * by_mean, by_pair, all_by * _cut(chick - state.chick, longest)


def _cut(step: Array, longest: Array) -> Array:
    return np.asarray(step * np.minimum(1.0, np.min(longest[:, None] / np.maximum(np.abs(step), 1e-300), axis=0)))
