"""Weak priors on standard deviations and correlations, and the posterior they make with the weighings."""

from dataclasses import replace

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.covariance import Level
from analysis.growth.mixed.likelihood import Evidence, Likelihood, objective
from analysis.growth.mixed.model import Model
from analysis.growth.mixed.search import Found, Objective
from analysis.growth.mixed.steps import State, reach

# Half-normal, weak: sd of A and of K as a share, of ti as a share of the days from 10 % to 90 % (practice, ours:
# 3 d and 1 d where growing takes 20 d).
PRIORS = {"chick": (0.25, 0.25, 0.15), "pair": (0.15, 0.15, 0.05)}
# Of the correlations: an LKJ prior of this shape (Lewandowski, Kurowicka & Joe 2009), which leans to none.
LKJ = 2.0


def _scales(model: Model, levels: tuple[Level, ...], state: State) -> list[Array]:
    """Scale of the prior of each standard deviation, level by level."""
    size = reach(model, state.mean)
    return [np.array(prior) * size for prior, _ in zip(PRIORS.values(), levels, strict=False)]


def log_posterior(model: Model, levels: tuple[Level, ...], state: State) -> Objective:
    """Log posterior of x, log sigma last (flat in sigma), the means integrated out, and its slope."""
    scales = _scales(model, levels, state)

    def function(evidence: Evidence, x: Array, unit: Array) -> tuple[Likelihood, Array]:
        at, slope = objective(evidence, levels, x, restricted=True)
        prior, at_row = x[-1].copy(), 0
        slope[-1] += 1
        for level, scale in zip(levels, scales, strict=True):
            effects, r = list(level.effects), len(level.effects)
            of_scale = np.exp(x[at_row : at_row + r] + x[-1]) * (unit / scale)[effects, None]
            by_sd = 1 - of_scale**2
            prior = prior + np.sum(x[at_row : at_row + r] + x[-1] - 0.5 * of_scale**2, axis=0)
            slope[at_row : at_row + r] += by_sd
            slope[-1] += by_sd.sum(axis=0)
            tilt = x[at_row + r : at_row + level.size]
            power = _lkj(r)[: len(tilt), None]
            prior = prior - 2 * np.sum(power * np.log(np.cosh(tilt)), axis=0)
            slope[at_row + r : at_row + level.size] -= 2 * power * np.tanh(tilt)
            at_row += level.size
        return replace(at, value=at.value + prior), slope

    return function


def _lkj(effects: int) -> Array:
    """Powers of 1 - z² for the partial correlations z, row after row, on the scale of their inverse tangents."""
    return np.array([LKJ + (effects - 2 - m) / 2 for j in range(effects) for m in range(j)])


def off_zero(model: Model, levels: tuple[Level, ...], found: Found) -> Array:
    """The most likely x, with standard deviations of zero moved to where the prior takes them seriously."""
    x, row = found.x[:, 0].copy(), 0
    for level, scale in zip(levels, _scales(model, levels, found.state), strict=True):
        least = np.log(0.1 * scale / (found.state.unit * found.at.sigma[0]))[list(level.effects)]
        x[row : row + len(least)] = np.maximum(x[row : row + len(least)], least)
        x[row + len(least) : row + level.size] = np.clip(x[row + len(least) : row + level.size], -1, 1)
        row += level.size
    return x
