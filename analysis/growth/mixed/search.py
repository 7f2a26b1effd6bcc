"""The search for a mixed fit: Lindstrom & Bates' alternation between curves and standard deviations.

At the present parameters every curve is made straight. Then the likelihood of a linear mixed model gives the
standard deviations, and with them the population, the pairs and the chicks; there the curves are made straight
again, until nothing moves.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.covariance import Level
from analysis.growth.mixed.likelihood import Evidence, Likelihood, split
from analysis.growth.mixed.model import Model
from analysis.growth.mixed.steps import State, advance

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
class Found:
    """The end of a search.

    Parameters
    ----------
    state : population, pairs and chicks
    x : parameters of the levels, standard deviations in units of sigma and of `state.unit`
    evidence, at : the straightened weighings, and their likelihood at x
    settled : whether a further round would change nothing
    rounds : how many it took
    """

    state: State
    x: Array
    evidence: Evidence
    at: Likelihood
    settled: bool
    rounds: int

    @property
    def value(self) -> float:
        """Log-likelihood."""
        return float(self.at.value[0])


def search(model: Model, state: State, x: Array, limits: Limits, function: Objective, most_rounds: int) -> Found:
    """Alternate until nothing moves; `function` is what standard deviations are to make greatest."""
    before, share, last = -np.inf, 1.0, np.zeros_like(x)
    settled = False
    for turn in range(most_rounds):
        evidence = state.evidence(model)
        step = climb(evidence, state.unit, x, limits, function) - x
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


def climb(evidence: Evidence, unit: Array, x: Array, limits: Limits, function: Objective) -> Array:
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
    best: Array = at_zero if as_good else found.x
    return best[:, None]


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
