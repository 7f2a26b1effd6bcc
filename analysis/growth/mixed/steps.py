"""One step of a mixed fit: from straightened curves to the population, pairs and chicks they speak for."""

from dataclasses import dataclass, replace

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.likelihood import Evidence, Likelihood
from analysis.growth.mixed.model import Model, Straight

# Of ln A, of ln K and of the days from 10 % to 90 %: a step longer than this is cut.
LONGEST = 0.7
# A curve may bend away from its forecast by this share of what the step promises, or by as much of sigma².
MOST_BENT, BENT_ANYWAY = 0.5, 1e-4
MOST_HALVED = 8


@dataclass(frozen=True)
class State:
    """Where a search stands.

    Parameters
    ----------
    mean : (3,), population
    pair : (3, pairs), their effects; None without a pair level
    chick : (3, chicks), their effects
    unit : (3,), in which parameters are counted, so that all are of one size
    straight : the curves made straight here
    """

    mean: Array
    pair: Array | None
    chick: Array
    unit: Array
    straight: Straight

    def evidence(self, model: Model) -> Evidence:
        """What the weighings say about each chick, less the population's mean."""
        return model.evidence(self.straight, self.theta(model) - self.mean[:, None], self.unit)

    def theta(self, model: Model) -> Array:
        """Parameters of each chick, (3, chicks)."""
        theta = self.mean[:, None] + self.chick
        return theta if self.pair is None else theta + model.of_chicks(self.pair)

    def moved(self, mean: Array, pair: Array | None, chick: Array) -> "State":
        """The same, these steps away; not yet made straight there."""
        pair = self.pair if self.pair is None or pair is None else self.pair + pair
        return replace(self, mean=self.mean + mean, pair=pair, chick=self.chick + chick)


def advance(model: Model, state: State, at: Likelihood) -> tuple[State, float]:
    """Go where a likelihood points (a Gauss–Newton step), with shorter steps where curves bend too much.

    First all together, then chick by chick. Returns the new state, and how far it went, in standard errors.
    """
    by_mean, by_pair, by_chick = _steps(model, state, at)
    sigma2 = float(at.sigma[0]) ** 2
    for share in 0.5 ** np.arange(2 * MOST_HALVED):
        now = state.moved(share * by_mean, None if by_pair is None else share * by_pair, share * by_chick)
        now = replace(now, straight=model.straighten(now.theta(model)))
        bent, promised = _bent(model, state, now)
        if np.sum(bent) <= np.sum(promised) + BENT_ANYWAY * sigma2:
            break
    each = np.full(len(bent), share)
    for _ in range(MOST_HALVED):
        failed = bent > MOST_BENT * promised + BENT_ANYWAY * sigma2
        if not failed.any():
            break
        each[failed] /= 2
        now = replace(now, chick=state.chick + each * by_chick)
        now = replace(now, straight=model.again(now.straight, now.theta(model), failed))
        bent, promised = _bent(model, state, now)
    se = state.unit * at.sigma[0] * np.sqrt(np.diagonal(at.variance[..., 0, 0]))
    of_mean = np.max(np.abs(now.mean - state.mean) / np.where(se > 0, se, np.inf))
    return now, float(max(of_mean, np.sqrt(np.mean(promised) / sigma2)))


def expected(model: Model, state: State, at: Likelihood) -> tuple[Array, Array | None, Array]:
    """Population, pairs' effects and chicks' effects of a likelihood."""
    unit, pair, mean = state.unit[:, None], None, at.mean
    if at.pair is not None:
        pair = at.pair.effects(mean)
        mean = mean + model.of_chicks(pair)
        pair = pair[:, 0] * unit
    return state.mean + state.unit * at.mean[:, 0, 0], pair, at.chick.effects(mean)[:, 0] * unit


def reach(model: Model, mean: Array) -> Array:
    """The size of the parameters: one on a logarithm, itself for A and K, days from 10 % to 90 % for ti."""
    A, K, _ = model.to_units(mean)
    growing = float(model.curve.t10_90(K))
    return np.array([A, K, growing]) if model.natural else np.array([1.0, 1.0, growing])


def _steps(model: Model, state: State, at: Likelihood) -> tuple[Array, Array | None, Array]:
    """Steps of population, pairs and chicks; cut together where the population's is too long, and one by one."""
    mean, pair, chick = expected(model, state, at)
    longest = LONGEST * reach(model, state.mean)
    by_mean = mean - state.mean
    all_by = min(1.0, float(np.min(longest / np.maximum(np.abs(by_mean), 1e-300))))
    by_pair = None if pair is None or state.pair is None else all_by * _cut(pair - state.pair, longest)
    return all_by * by_mean, by_pair, all_by * _cut(chick - state.chick, longest)


def _cut(step: Array, longest: Array) -> Array:
    return step * np.minimum(1.0, np.min(longest[:, None] / np.maximum(np.abs(step), 1e-300), axis=0))


def _bent(model: Model, state: State, now: State) -> tuple[Array, Array]:
    """By how much each chick's sum of squares misses its forecast, and what its step promised at least."""
    step = now.theta(model) - state.theta(model)
    promised = np.einsum("in,ijn,jn->n", step, state.straight.P, step)
    forecast = state.straight.rss - 2 * np.sum(step * state.straight.slope, axis=0) + promised
    # A curve that was not defined at a weighing may only become so.
    return np.where(np.isfinite(forecast), now.straight.rss - np.where(np.isfinite(forecast), forecast, 0), 0), promised
