"""Intervals that know how unsure the standard deviations are: they are integrated over, not plugged in.

With a dozen pairs the standard deviation of pairs is itself hardly known; intervals that take its estimate for the
truth are too narrow, and of no width at an estimate of zero. So each has a weak half-normal prior, and the posterior is
a mixture of normals: one for each of some hundred draws of the standard deviations, from a Student-t about their mode,
weighted by how much too often or too seldom it draws them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.likelihood import Evidence, Level, Likelihood, Stage, matmul, objective, split
from analysis.growth.mixed.search import MOST_ROUNDS, Found, Objective, State, bounds, reach, search
from analysis.growth.mixed.straight import Model

HALVINGS = 24
# Parts of the mixture that weigh less than this in all are left out.
TOO_LIGHT = 1e-4
# Half-normal, weak: sd of A and of K as a share, of ti as a share of the days from 10 % to 90 % (practice, ours:
# 3 d and 1 d where growing takes 20 d).
PRIORS = {"chick": (0.25, 0.25, 0.15), "pair": (0.15, 0.15, 0.05)}
# Of the correlations: an LKJ prior of this shape (Lewandowski, Kurowicka & Joe 2009), which leans to none.
LKJ = 2.0
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
ENDS = (0.025, 0.5, 0.975)
# Powers of two, as Sobol's sequence wants.
MANY, CHICKS, DRAWS = 4096, 128, 128
# Ln mass below this is a weight of zero; it keeps averages over draws finite.
LEAST = -700.0


def quantiles(weights: Array, mean: Array, sd: Array, shares: Sequence[float]) -> list[Array]:
    """Values below which these shares of a mixture lie, (units,) each, by halving: right to a millionth of its width.

    weights : (parts,), they sum to one; mean, sd : (parts, units), of the normal distributions
    """
    from scipy.special import ndtr

    heaviest = np.argsort(weights)[::-1]
    kept = heaviest[: 1 + np.searchsorted(np.cumsum(weights[heaviest]), 1 - TOO_LIGHT)]
    weights, mean, sd = weights[kept] / weights[kept].sum(), mean[kept], np.maximum(sd[kept], 1e-300)
    found = []
    for share in shares:
        low, high = np.min(mean - 6 * sd, axis=0), np.max(mean + 6 * sd, axis=0)
        with np.errstate(invalid="ignore", over="ignore"):
            for _ in range(HALVINGS):
                middle = (low + high) / 2
                below = weights @ ndtr((middle - mean) / sd) < share
                low, high = np.where(below, middle, low), np.where(below, high, middle)
        found.append((low + high) / 2)
    return found


def _scales(model: Model, levels: tuple[Level, ...], state: State) -> list[Array]:
    """Scale of the prior of each standard deviation, level by level."""
    size = reach(model, state.mean)
    return [np.array(prior) * size for prior, _ in zip(PRIORS.values(), levels, strict=False)]


def log_posterior(model: Model, levels: tuple[Level, ...], state: State) -> Objective:
    """Log posterior of x, log sigma last (flat in sigma), the means integrated out, and its slope."""
    scales = _scales(model, levels, state)

    def function(evidence: Evidence, x: Array, unit: Array) -> tuple[Likelihood, Array]:
        at, slope = objective(evidence, levels, x, restricted=True)
        prior = x[-1].copy()
        slope[-1] += 1
        for level, part, by, scale in zip(levels, split(levels, x), split(levels, slope), scales, strict=False):
            effects, r = list(level.effects), len(level.effects)
            log_sd, tilt = part[:r] + x[-1], part[r:]
            of_scale = np.exp(log_sd) * (unit / scale)[effects, None]
            by_sd = 1 - of_scale**2
            prior = prior + np.sum(log_sd - 0.5 * of_scale**2, axis=0)
            by[:r] += by_sd  # a view of the slope
            slope[-1] += by_sd.sum(axis=0)
            # Powers of 1 - z² for the partial correlations z, row after row, on the scale of their inverse tangents.
            power = np.array([LKJ + (r - 2 - m) / 2 for j in range(r) for m in range(j)])[: len(tilt), None]
            prior = prior - 2 * np.sum(power * np.log(np.cosh(tilt)), axis=0)
            by[r:] -= 2 * power * np.tanh(tilt)
        return replace(at, value=at.value + prior), slope

    return function


@dataclass(frozen=True)
class Mixture:
    """Normal distributions of parameters, one for each draw: (3, draws, units), (3, 3, draws, units)."""

    mean: Array
    covariance: Array


@dataclass(frozen=True)
class Posterior:
    """What is believed of chicks, pairs and the bird not yet seen, the standard deviations integrated over."""

    weights: Array  # (draws,), they sum to one
    sigma: Array  # (draws,), residual standard deviation
    population: Mixture  # parameters of the typical chick
    between: Array  # (3, 3, draws), covariance of chicks about it, that of their pairs included
    chicks: Mixture  # parameters of each chick
    pairs: Mixture | None  # of each pair's typical chick


def integrate(model: Model, levels: tuple[Level, ...], found: Found) -> Posterior:
    """Draw the standard deviations from their posterior about the most likely fit, by a Student-t."""
    function = log_posterior(model, levels, found.state)
    log_sigma = float(np.log(found.at.sigma[0]))
    limits = [*bounds(levels), (log_sigma - WIDEST, log_sigma + WIDEST)]
    # Standard deviations of zero are moved to where the prior takes them seriously.
    scales, start = _scales(model, levels, found.state), list[Array]()
    for level, part, scale in zip(levels, split(levels, found.x[:, 0]), scales, strict=True):
        least = np.log(0.1 * scale / (found.state.unit * found.at.sigma[0]))[list(level.effects)]
        start += [np.maximum(part[: len(least)], least), np.clip(part[len(least) :], -1, 1)]
    x = np.append(np.concatenate(start), log_sigma)[:, None]
    mode = search(model, found.state, x, limits, function, MOST_ROUNDS)
    draws = int(np.clip(UNITS_IN_ALL / mode.evidence.P.shape[-1], LEAST_DRAWS, MOST_DRAWS))
    rng = np.random.default_rng(SEED)
    low, high = np.array(limits).T[..., None]
    centre, root = mode.x, _spread_at(mode, function)
    for _ in range(ADAPTED + 1):
        z = rng.standard_normal((len(centre), draws)) / np.sqrt(rng.chisquare(FREEDOM, draws) / FREEDOM)
        x = centre + root @ z
        parts = _given(mode, levels, np.clip(x, low, high), function)
        log_weight = parts[0] + 0.5 * (FREEDOM + len(centre)) * np.log1p(np.sum(z**2, axis=0) / FREEDOM)
        weights = _weights(log_weight)
        if 1 / np.sum(weights**2) >= ENOUGH * draws:  # draws of equal weight that these are worth
            break
        centre, root = _adapted(x, log_weight, root)
    return Posterior(weights, np.exp(x[-1]), *parts[1:])


def _spread_at(mode: Found, function: Objective) -> Array:
    """A root of the covariance of x that the curvature at its mode stands for."""
    size, step = len(mode.x), 1e-3
    aside = np.concatenate([mode.x + step * np.eye(size), mode.x - step * np.eye(size)], axis=1)
    slopes = [function(mode.evidence, aside[:, [i]], mode.state.unit)[1] for i in range(2 * size)]
    slope = np.concatenate(slopes, axis=1)
    hessian = (slope[:, :size] - slope[:, size:]) / (2 * step)
    curved, axes = np.linalg.eigh(-(hessian + hessian.T) / 2)
    return np.asarray(axes / np.sqrt(np.maximum(curved, LEAST_CURVED)))


def _weights(log_weight: Array) -> Array:
    weights = np.exp(log_weight - np.max(log_weight))
    return np.asarray(weights / weights.sum())


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
    covariance = (unit[:, None] * unit)[..., None, None] * spread * at.sigma[:, None] ** 2
    return Mixture(state.mean[:, None, None] + unit[:, None, None] * mean, covariance)


def centiles_of(
    model: Model, posterior: Posterior, age_d: Array, shares: Sequence[float]
) -> tuple[Array, Array, Array]:
    """Centiles on the scale of the scatter, and the ends of their 95 % intervals, (ages, shares) each.

    The middle is that of very many chicks about what is most believed; the ends lie as far from it as those of the
    draws, with fewer chicks each, lie from theirs.
    """
    mean, between = posterior.population.mean[..., 0], posterior.between
    evenly = np.searchsorted(np.cumsum(posterior.weights), (np.arange(DRAWS) + 0.5) / DRAWS)
    which = np.minimum(evenly, len(posterior.weights) - 1)  # draws taken as often as their weight says
    unsure = _root(posterior.population.covariance[..., which, 0])
    centre = mean[:, which] + np.einsum("ijd,jd->id", unsure, _spread_evenly(DRAWS))
    each = _quantiles(model, centre, between[..., which], age_d, shares, CHICKS)
    believed = (mean @ posterior.weights)[:, None], (between @ posterior.weights)[..., None]
    middle = _quantiles(model, *believed, age_d, shares, MANY)[..., 0].T
    low, half, high = np.quantile(each, ENDS, axis=2).transpose(0, 2, 1)
    return middle, middle + np.minimum(low - half, 0.0), middle + np.maximum(high - half, 0.0)


def _quantiles(
    model: Model, centre: Array, between: Array, age_d: Array, shares: Sequence[float], chicks: int
) -> Array:
    """Quantiles over drawn chicks, (shares, ages, draws), for centres (3, draws) and covariances (3, 3, draws)."""
    theta = centre[..., None] + np.einsum("ijd,jc->idc", _root(between), _spread_evenly(chicks))
    shape = theta.shape[1:]
    with np.errstate(over="ignore", invalid="ignore"):
        one = [model.value(np.full(theta[0].size, age), theta.reshape(3, -1))[0].reshape(shape) for age in age_d]
    value = np.maximum(np.nan_to_num(np.array(one), nan=LEAST, posinf=-LEAST, neginf=LEAST), LEAST)
    return np.asarray(np.quantile(value, shares, axis=2), float)


def _spread_evenly(count: int) -> Array:
    """Normal deviates of three parameters spread evenly, (3, count), count a power of two: Sobol's sequence."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    return np.asarray(ndtri(qmc.Sobol(3, rng=1).random(count).T), float)


def _root(matrix: Array) -> Array:
    """A root of each covariance, (3, 3, draws)."""
    values, vectors = np.linalg.eigh(np.moveaxis(matrix, -1, 0))
    return np.moveaxis(vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :], 0, -1)
