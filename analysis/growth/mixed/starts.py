"""Where the search for a mixed fit begins, so that nobody has to guess, and which of several ends is believed."""

from dataclasses import replace

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.mixed.covariance import Level
from analysis.growth.mixed.likelihood import Evidence, Likelihood, objective
from analysis.growth.mixed.model import Model
from analysis.growth.mixed.search import LEAST, MOST, Found, at_zero, bounds, search
from analysis.growth.mixed.steps import State, advance, reach
from analysis.growth.start import start_values
from analysis.growth.weighings import Weighings

# Rounds before standard deviations are sought, and when population and chicks move little enough to seek them.
WARM_UP, NEAR = 8, 0.1
# Rounds of each start. The best of them are gone on with for some more, until one settles.
FEW_ROUNDS, MOST_ROUNDS, GONE_ON = 15, 50, 2
# By how much chicks may differ to begin with, as a share of A, of K and of the days from 10 % to 90 %. The next
# is tried only where the search from the one before was no easy one.
COMMON = (0.3, 1.0, 0.1)
# Chicks looked at for first values.
ENOUGH = 300


def most_likely(model: Model, levels: tuple[Level, ...]) -> Found:
    """The fit of greatest likelihood, sigma profiled out.

    The alternation can end in several places where chicks differ much or have not bent yet. An easy search is
    believed; else other starts are tried, with the fit of independent effects among them, and the best is taken.
    """

    def function(evidence: Evidence, x: Array, unit: Array) -> tuple[Likelihood, Array]:
        return objective(evidence, levels, x)

    found: list[Found] = []
    # Where no chick was weighed twice there is nothing to choose between starts by.
    for common in COMMON if model.rows.sizes.max() > 1 else COMMON[:1]:
        found.append(search(model, *begin(model, levels, common), bounds(levels), function, FEW_ROUNDS))
        if found[-1].settled and not at_zero(levels, found[-1].x)[0].any():
            return found[-1]
    if any(level.full for level in levels):
        apart = most_likely(model, tuple(replace(level, full=False) for level in levels))
        found.append(search(model, apart.state, _correlated(levels, apart.x), bounds(levels), function, FEW_ROUNDS))
    for start in sorted(found, key=lambda one: -one.value)[:GONE_ON]:
        if not start.settled:
            start = search(model, start.state, start.x, bounds(levels), function, MOST_ROUNDS)
        if start.settled:
            return start
    return start


def _correlated(levels: tuple[Level, ...], x: Array) -> Array:
    """Parameters of levels with correlations, all zero, from those of the same without."""
    parts, row = [], 0
    for level in levels:
        r = len(level.effects)
        parts += [x[row : row + r], np.zeros((level.size - r, 1))]
        row += r
    return np.concatenate(parts)


def begin(model: Model, levels: tuple[Level, ...], common: float) -> tuple[State, Array]:
    """A first state, and first parameters of the levels, from the weighings themselves.

    From one curve for all, chicks and pairs are let off by as much as chicks may differ, for a few rounds.
    """
    mean = first_mean(model)
    chicks = len(model.rows.sizes)
    pair = None if model.first is None else np.zeros((3, len(model.first)))
    state = State(mean, pair, np.zeros((3, chicks)), np.ones(3), model.straighten(np.repeat(mean[:, None], chicks, 1)))
    sigma = np.sqrt(np.sum(state.straight.rss) / len(model.rows.age_d))
    for _ in range(WARM_UP):
        size = np.einsum("iin->i", state.straight.P) / chicks
        state = replace(state, unit=1 / np.sqrt(np.maximum(size, 1e-100)))
        sd = np.log(common * reach(model, state.mean) / (state.unit * max(sigma, 1e-100)))
        x = np.concatenate(
            [np.append(sd[list(level.effects)], np.zeros(level.size - len(level.effects))) for level in levels]
        )[:, None]
        x = np.clip(x, np.log(LEAST), np.log(MOST))
        at = objective(state.evidence(model), levels, x)[0]
        sigma = float(at.sigma[0])
        state, moved = advance(model, state, at)
        if moved < NEAR:
            break
    return state, x


def first_mean(model: Model) -> Array:
    """A curve for all: that of all weighings read as one chick's, or of the middle chick, whichever fits better."""
    rows, chicks = model.rows, len(model.rows.sizes)
    some = np.zeros(chicks, bool)
    some[np.linspace(0, chicks - 1, min(ENOUGH, chicks)).astype(int)] = True
    rows = rows.only(some)
    order = np.lexsort((rows.mass_g, rows.age_d))
    one = Weighings(pd.Index(["all"]), np.array([len(order)]), rows.age_d[order], rows.mass_g[order])
    means = [start_values(one, model.curve, additive=model.additive)[0]]
    apart = rows.age_d[rows.last] > rows.age_d[rows.first]
    if apart.any():
        means.append(np.median(start_values(rows.only(apart), model.curve, additive=model.additive), axis=0))
    trial = replace(model, rows=one, first=None)
    return min((model.to_fit(mean) for mean in means), key=lambda mean: trial.straighten(mean[:, None]).rss[0])
