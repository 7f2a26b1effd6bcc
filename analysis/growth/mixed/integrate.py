"""Intervals that know how unsure the standard deviations are: they are integrated over, not plugged in.

With a dozen pairs the standard deviation of pairs is itself hardly known; intervals that take its estimate for the
truth are too narrow, and at an estimate of zero they have no width at all. So each standard deviation has a weak
half-normal prior, and the posterior is a mixture of normals: one for each of some hundred draws of the standard
deviations, from a Student-t about their mode, weighted by how much too often or too seldom it draws them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.covariance import Level
from analysis.growth.mixed.likelihood import Likelihood, Stage, matmul
from analysis.growth.mixed.model import Model
from analysis.growth.mixed.priors import log_posterior, off_zero
from analysis.growth.mixed.search import Found, Objective, bounds, search
from analysis.growth.mixed.starts import MOST_ROUNDS
from analysis.growth.mixed.steps import State

# Draws, and degrees of freedom of the t they come from. With many chicks fewer do: the posterior is narrow.
MOST_DRAWS, LEAST_DRAWS, UNITS_IN_ALL = 400, 50, 200_000
FREEDOM = 6
# Log sigma is looked for as far as this from the most likely one.
WIDEST = 14.0
# Where fewer than this share of the draws count, they are drawn again from a better t, so often at most.
ENOUGH, ADAPTED = 0.25, 3
UNITS_AT_ONCE = 100_000
# Least curvature of the log posterior believed in a direction, so that no draw is absurdly wide.
LEAST_CURVED = 0.4
SEED = 1


@dataclass(frozen=True)
class Mixture:
    """Normal distributions of parameters, one for each draw: (3, draws, units), (3, 3, draws, units)."""

    mean: Array
    covariance: Array


@dataclass(frozen=True)
class Posterior:
    """What is believed of chicks, pairs and the bird not yet seen, the standard deviations integrated over.

    Parameters
    ----------
    weights : (draws,), they sum to one
    sigma : (draws,), residual standard deviation
    population : parameters of the typical chick
    between : (3, 3, draws), covariance of chicks about it, that of their pairs included
    chicks, pairs : parameters of each chick, of each pair's typical chick
    effective : how many draws of equal weight these are worth
    """

    weights: Array
    sigma: Array
    population: Mixture
    between: Array
    chicks: Mixture
    pairs: Mixture | None
    effective: float

    @property
    def new(self) -> Mixture:
        """Parameters of a new pair's chick."""
        return Mixture(self.population.mean, self.population.covariance + self.between[..., None])


def integrate(model: Model, levels: tuple[Level, ...], found: Found) -> Posterior:
    """Draw the standard deviations from their posterior about the most likely fit."""
    function = log_posterior(model, levels, found.state)
    log_sigma = float(np.log(found.at.sigma[0]))
    limits = [*bounds(levels), (log_sigma - WIDEST, log_sigma + WIDEST)]
    start = np.append(off_zero(model, levels, found), log_sigma)[:, None]
    mode = search(model, found.state, start, limits, function, MOST_ROUNDS)
    draws = int(np.clip(UNITS_IN_ALL / mode.evidence.P.shape[-1], LEAST_DRAWS, MOST_DRAWS))
    rng = np.random.default_rng(SEED)
    low, high = np.array(limits).T[..., None]
    centre, root = mode.x, _spread_at(mode, function)
    for _ in range(ADAPTED + 1):
        x, log_density = _draw(rng, centre, root, draws)
        parts = _given(mode, levels, np.clip(x, low, high), function)
        log_weight = parts[0] - log_density
        weights = _weights(log_weight)
        effective = 1 / np.sum(weights**2)
        if effective >= ENOUGH * draws:
            break
        centre, root = _adapted(x, log_weight, root)
    return Posterior(weights, np.exp(x[-1]), *parts[1:], float(effective))


def _spread_at(mode: Found, function: Objective) -> Array:
    """A root of the covariance of x that the curvature at its mode stands for."""
    size, step = len(mode.x), 1e-3
    aside = np.concatenate([mode.x + step * np.eye(size), mode.x - step * np.eye(size)], axis=1)
    slope = np.concatenate(
        [function(mode.evidence, aside[:, [i]], mode.state.unit)[1] for i in range(2 * size)], axis=1
    )
    hessian = (slope[:, :size] - slope[:, size:]) / (2 * step)
    curved, axes = np.linalg.eigh(-(hessian + hessian.T) / 2)
    root: Array = axes / np.sqrt(np.maximum(curved, LEAST_CURVED))
    return root


def _draw(rng: np.random.Generator, centre: Array, root: Array, draws: int) -> tuple[Array, Array]:
    """Draws of x, (parameters, draws), from a Student-t, and the log density they were drawn with."""
    size = len(centre)
    z = rng.standard_normal((size, draws)) / np.sqrt(rng.chisquare(FREEDOM, draws) / FREEDOM)
    return centre + root @ z, -0.5 * (FREEDOM + size) * np.log1p(np.sum(z**2, axis=0) / FREEDOM)


def _weights(log_weight: Array) -> Array:
    weights: Array = np.exp(log_weight - np.max(log_weight))
    weights /= weights.sum()
    return weights


def _adapted(x: Array, log_weight: Array, root: Array) -> tuple[Array, Array]:
    """Centre and root of a better t, from weighted draws; weights are flattened until enough draws count."""
    size = len(x)
    for power in 0.5 ** np.arange(8):
        weights = _weights(power * log_weight)
        if 1 / np.sum(weights**2) >= 6 * size:
            break
    centre = (x @ weights)[:, None]
    covariance = ((x - centre) * weights) @ (x - centre).T
    return centre, np.asarray(np.linalg.cholesky(covariance + 0.1 * root @ root.T), float)


def _given(
    mode: Found, levels: tuple[Level, ...], x: Array, function: Objective
) -> tuple[Array, Mixture, Array, Mixture, Mixture | None]:
    """Log posterior at each x, and given it the population, how chicks differ from it, chicks and pairs."""
    at_once = max(1, UNITS_AT_ONCE // mode.evidence.P.shape[-1])
    parts = [_some(mode, x[:, i : i + at_once], function) for i in range(0, x.shape[1], at_once)]
    value, population, between, chicks, pairs = zip(*parts, strict=True)
    of_pairs = _joined(pairs) if len(levels) > 1 else None
    return np.concatenate(value), _joined(population), np.concatenate(between, axis=2), _joined(chicks), of_pairs


def _joined(parts: Sequence[Mixture]) -> Mixture:
    mean = np.concatenate([part.mean for part in parts], axis=1)
    return Mixture(mean, np.concatenate([part.covariance for part in parts], axis=2))


def _some(mode: Found, x: Array, function: Objective) -> tuple[Array, Mixture, Array, Mixture, Mixture | None]:
    state, evidence = mode.state, mode.evidence
    at = function(evidence, x, state.unit)[0]
    centre, spread, pairs = at.mean, at.variance, None
    population, between = _in_units(state, at, centre, spread), at.chick.omega
    if at.pair is not None:
        between = between + at.pair.omega
        centre, spread = _below(at.pair, centre, spread)
        pairs = _in_units(state, at, centre, spread)
        centre, spread = evidence.of_chicks(centre), evidence.of_chicks(spread)
    chicks = _in_units(state, at, *_below(at.chick, centre, spread))
    return at.value, population, _in_units(state, at, at.mean, between).covariance[..., 0], chicks, pairs


def _below(stage: Stage, mean: Array, spread: Array) -> tuple[Array, Array]:
    """Distribution of a level's own parameters, from that of the mean above them."""
    keep = stage.keep()
    return mean + stage.effects(mean), stage.spread() + matmul(matmul(keep, spread), np.swapaxes(keep, 0, 1))


def _in_units(state: State, at: Likelihood, mean: Array, spread: Array) -> Mixture:
    unit = state.unit
    return Mixture(
        state.mean[:, None, None] + unit[:, None, None] * mean,
        (unit[:, None] * unit)[..., None, None] * spread * at.sigma[:, None] ** 2,
    )
