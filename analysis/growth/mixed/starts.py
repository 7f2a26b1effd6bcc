"""Where the search for a mixed fit begins, so that nobody has to guess, and which of several ends is believed."""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.least_squares import start_values
from analysis.growth.mixed.likelihood import Evidence, Level, Likelihood, objective
from analysis.growth.mixed.model import Model
from analysis.growth.mixed.search import LEAST, MOST, Found, State, advance, at_zero, bounds, reach, search
from analysis.growth.weighings import Weighings

# Rounds before standard deviations are sought, and when population and chicks move little enough to seek them.
WARM_UP, NEAR = 8, 0.1
# A search that settles in so few rounds is an easy one and believed; rounds of each of several starts; and of the
# likeliest that did not settle, of which so many are gone on with.
EASY_ROUNDS, FEW_ROUNDS, MOST_ROUNDS, GONE_ON = 9, 15, 30, 2
# Ends whose log-likelihoods differ by no more than this are one.
SAME_END = 0.01
# By how much chicks may differ to begin with, as a share of A, of K and of the days from 10 % to 90 %. The next
# is tried only where the search from the one before was no easy one.
COMMON = (0.3, 1.0, 0.1)
# Chicks looked at for first values, and the weighings that are made of them.
ENOUGH, MADE_OF_ALL = 300, 12


def most_likely(model: Model, levels: tuple[Level, ...]) -> Found:
    """The fit of greatest likelihood, sigma profiled out.

    The alternation can end in several places where chicks differ much or have not bent yet. An easy search is
    believed; else other starts are tried, each chick's own curve and the fit of independent effects among them, until
    two end at the same, the likeliest place (or two run off to ever larger final weights). The likeliest that settles
    is taken.
    """

    def function(evidence: Evidence, x: Array, unit: Array) -> tuple[Likelihood, Array]:
        return objective(evidence, levels, x)

    def go(state: State, x: Array, rounds: int) -> Found:
        return search(model, state, x, bounds(levels), function, rounds)

    found = [go(*begin(model, levels, COMMON[0]), FEW_ROUNDS)]
    easy = found[0].settled and found[0].rounds <= EASY_ROUNDS and not at_zero(levels, found[0].x)[0].any()
    # Where no chick was weighed twice there is nothing to choose between starts by.
    if not easy and model.rows.sizes.max() > 1:
        for start in _other_starts(model, levels):
            found.append(go(*start, FEW_ROUNDS))
            best = max(one.value for one in found)
            if sum(one.value > best - SAME_END for one in found) > 1:
                break
            if sum(_runs_off(model, one) for one in found) > 1:
                found = [max(found, key=_trust)]
                break
    return max([*found, *_gone_on(go, found)], key=_trust)


def _other_starts(model: Model, levels: tuple[Level, ...]) -> Iterator[tuple[State, Array]]:
    yield each_its_own(model, levels)
    yield begin(model, levels, COMMON[1])
    if any(level.full for level in levels):
        yield _as_if_apart(model, levels)
    yield begin(model, levels, COMMON[2])


def _trust(found: Found) -> tuple[bool, float]:
    return found.settled, found.value


def _runs_off(model: Model, found: Found) -> bool:
    """Whether a search is on its way to ever larger final weights: growth is fastest after the last weighing."""
    return not found.settled and bool(found.state.mean[2] > model.rows.age_d.max())


def _gone_on(go: Callable[[State, Array, int], Found], found: list[Found]) -> list[Found]:
    """Searches that did not settle gone on with: the likeliest first, while they are likelier than what did settle."""
    best, more = max(found, key=_trust), []
    for start in sorted((one for one in found if not one.settled), key=lambda one: -one.value)[:GONE_ON]:
        if not best.settled or start.value > best.value + SAME_END:
            more.append(go(start.state, start.x, MOST_ROUNDS))
            best = max(best, more[-1], key=_trust)
    return more


def _as_if_apart(model: Model, levels: tuple[Level, ...]) -> tuple[State, Array]:
    """The fit of independent effects, and its standard deviations with correlations beside them, all zero."""
    apart = tuple(replace(level, full=False) for level in levels)

    def function(evidence: Evidence, x: Array, unit: Array) -> tuple[Likelihood, Array]:
        return objective(evidence, apart, x)

    found = search(model, *begin(model, apart, COMMON[0]), bounds(apart), function, FEW_ROUNDS)
    parts, row = [], 0
    for level in levels:
        r = len(level.effects)
        parts += [found.x[row : row + r], np.zeros((level.size - r, 1))]
        row += r
    return found.state, np.concatenate(parts)


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
        sd = np.log(np.maximum(common * reach(model, state.mean), 1e-100) / (state.unit * max(sigma, 1e-100)))
        x = np.concatenate(
            [np.append(sd[list(level.effects)], np.zeros(level.size - len(level.effects))) for level in levels]
        )[:, None]
        x = np.clip(x, np.log(LEAST), np.log(MOST))
        at = objective(state.evidence(model), levels, x)[0]
        sigma = float(at.sigma[0])
        state, moved, _ = advance(model, state, at)
        if moved < NEAR:
            break
    return state, x


def each_its_own(model: Model, levels: tuple[Level, ...]) -> tuple[State, Array]:
    """A first state where every chick weighed often enough has the start of its own curve."""
    state, x = begin(model, levels, COMMON[0])
    often = model.rows.sizes > len(model.curve.parameters)
    if not often.any():
        return state, x
    own = model.to_fit(start_values(model.rows.only(often), model.curve, additive=model.additive).T)
    effects, mean = np.zeros_like(state.chick), np.median(own, axis=1)
    far, at = reach(model, mean)[:, None], list(levels[0].effects)
    effects[:, often] = np.clip(own - mean[:, None], -2 * far, 2 * far)
    chick = np.zeros_like(effects)
    chick[at] = effects[at]
    now = replace(state, mean=mean, chick=chick)
    return replace(now, straight=model.straighten(now.theta(model))), x


def first_mean(model: Model) -> Array:
    """A curve for all: that of a chick made of all weighings, or of the middle chick, whichever fits better.

    The chick made of all has a dozen weighings: the middle age and weight of as many parts of all, by age.
    """
    rows, chicks = model.rows, len(model.rows.sizes)
    some = np.zeros(chicks, bool)
    some[np.linspace(0, chicks - 1, min(ENOUGH, chicks)).astype(int)] = True
    rows = rows.only(some)
    order = np.argsort(rows.age_d, kind="stable")
    parts = np.array_split(order, min(MADE_OF_ALL, len(order)))
    age_d, log_mass = (np.array([np.median(of[part]) for part in parts]) for of in (rows.age_d, np.log(rows.mass_g)))
    one = Weighings(pd.Index(["all"]), np.array([len(parts)]), age_d, np.exp(log_mass))
    means = [start_values(one, model.curve, additive=model.additive)[0]]
    apart = rows.age_d[rows.last] > rows.age_d[rows.first]
    if apart.any():
        means.append(np.median(start_values(rows.only(apart), model.curve, additive=model.additive), axis=0))
    every = Weighings(one.chicks, np.array([len(order)]), rows.age_d[order], rows.mass_g[order])
    trial = replace(model, rows=every, first=None)
    return min((model.to_fit(mean) for mean in means), key=lambda mean: trial.straighten(mean[:, None]).rss[0])


# Chicks are let differ by this share more than they seem to, or where that is by nothing they could say nothing.
MORE_DIFFERENT = 0.02
# Weighings that say less than this share of what is believed without them say nothing.
NOTHING = 1e-6


def own_log_mass(model: Model, state: State, root: Array, sigma: float, age_d: float) -> tuple[Array, Array]:
    """Ln mass of each chick at an age and its variance, (chicks,) each, from its own weighings.

    Parameters
    ----------
    model, state : a fit without a pair level, on the log scale (ln A, ln K, ti)
    root : (3, effects), a root of the covariance between chicks
    sigma : residual standard deviation
    age_d : days
    """
    theta = state.theta(model)
    away = theta - state.mean[:, None]
    root = np.column_stack([root, [MORE_DIFFERENT, 0.0, 0.0]])
    value, gradient = model.curve.log_mass_gradient(np.full(theta.shape[1], age_d), theta)
    known = np.einsum("ijn,jn->in", state.straight.P, away)
    told = root.T @ (state.straight.slope + known) / sigma**2
    inner = np.einsum("ia,ijn,jb->nab", root, state.straight.P, root) / sigma**2 + np.eye(root.shape[1])
    scaled = (root.T @ gradient).T
    spread = np.linalg.solve(inner, np.stack([scaled, told.T], axis=-1))
    before, after = np.sum(scaled**2, axis=1), np.sum(scaled * spread[..., 0], axis=1)
    without = value - np.sum(gradient * away, axis=0)
    drawn = np.sum(scaled * spread[..., 1], axis=1)
    said = np.maximum(before - after, NOTHING * before)
    return without + drawn * before / said, after * before / said
