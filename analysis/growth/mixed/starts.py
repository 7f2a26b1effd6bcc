"""`fit_mixed`: one growth curve for a population, its pairs and its chicks, fitted together.

Where the search begins, so that nobody has to guess, and which of several ends is believed, is decided here.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from analysis.growth.as_arrays import Weighings, evenly, weighings_of
from analysis.growth.curves import OF_THREE, Array, named_curve
from analysis.growth.each_chick import ERRORS
from analysis.growth.least_squares import start_values
from analysis.growth.mixed.likelihood import LEVELS, NAMES, Level, objective, split
from analysis.growth.mixed.result import MixedFit
from analysis.growth.mixed.search import LEAST, MOST, MOST_ROUNDS, Found, State, advance, at_zero, bounds, reach, search
from analysis.growth.mixed.straight import Model, nothing_to_fit, pair_by_pair
from analysis.say import in_words

COVARIANCES = ("diagonal", "full")
SCALES = ("log", "natural")
RANDOM = {"chick": ("A", "K", "ti"), "pair": ("A", "K")}
# Rounds before standard deviations are sought, and when population and chicks move little enough to seek them.
WARM_UP, NEAR = 8, 0.1
# A search that settles in so few rounds is an easy one and believed; rounds of each of several starts; and how many of
# the likeliest that did not settle are gone on with (for MOST_ROUNDS).
EASY_ROUNDS, FEW_ROUNDS, GONE_ON = 9, 15, 2
# Ends whose log-likelihoods differ by no more than this are one.
SAME_END = 0.01
# By how much chicks may differ to begin with, as a share of A, of K and of the days from 10 % to 90 %. The next
# is tried only where the search from the one before was no easy one.
COMMON = (0.3, 1.0, 0.1)
# Chicks looked at for first values, and the weighings that are made of them.
ENOUGH, MADE_OF_ALL = 300, 12


def fit_mixed(
    frame: pd.DataFrame,
    curve: str = "logistic",
    error: str = "proportional",
    random: Mapping[str, Sequence[str]] = RANDOM,
    covariance: str = "diagonal",
    scale: str = "log",
) -> MixedFit:
    """Fit one growth curve to all chicks together: each has its own, drawn towards its pair's and the population's.

    For chick i of pair p, on the scale (ln A, ln K, ti), or (A, K, ti) with `scale="natural"`:

        theta_i = population + effect of p + effect of i,    y_ij = f(t_ij, theta_i) + e_ij

    where effects and errors are normal, y and f are ln mass (`error="proportional"`: the scatter is a share of
    the weight) or mass (`"additive"`). Maximum likelihood by Lindstrom & Bates' linearisation, so that `loglik`
    compares with R's nlme. Every chick gets an answer, one with a single weighing included: it leans on the
    others. No starting values are needed.

    The alternation has no resting place for some flexible models of chicks that had hardly bent (ChickWeight by
    Gompertz's or von Bertalanffy's curve with three correlated effects: a small change of the standard deviations
    takes the whole population to another curve and back). Then `converged` is False and `why` says so; fewer effects
    or another curve settle it.

    Parameters
    ----------
    frame : chick (any name), age_d (days), mass_g (gram), one row a weighing, in any order; may carry pair. A
        chick without a pair is a pair of its own.
    curve : "logistic", "gompertz" or "von_bertalanffy"
    error : "proportional" or "additive"
    random : which of A, K, ti differ between chicks, and between pairs; the pair level is absent where the frame
        has no pair
    covariance : "diagonal", or "full" where the effects of a level may be correlated
    scale : "log" or "natural"

    Returns
    -------
    MixedFit : population, sd, sigma, loglik, aicc, chicks, pairs, expect(ages, chick), converged, why, found, notes

    Raises
    ------
    ValueError : unknown curve, error, effect, covariance or scale; a column is missing; an age that is no
        finite number, a weight not above 0; a chick of two pairs; or weighings that hold no curve, with the reason

    Source: Lindstrom & Bates 1990, *Biometrics* 46:673; Pinheiro & Bates 2000, *Mixed-Effects Models in S and
    S-PLUS*, ch. 7 and 8.

    Examples
    --------
    >>> from analysis.growth import CURVES
    >>> rng = np.random.default_rng(1)
    >>> age_d = np.arange(1, 31)
    >>> A_g = 90 * np.exp(0.1 * rng.standard_normal(12))
    >>> mass_g = CURVES["logistic"].mass(age_d, A_g[:, None], 0.3, 10) * np.exp(0.03 * rng.standard_normal((12, 30)))
    >>> frame = pd.DataFrame({"chick": np.repeat(range(12), 30), "age_d": np.tile(age_d, 12), "mass_g": mass_g.ravel()})
    >>> fit = fit_mixed(frame)
    >>> fit.converged, fit.population[["A_g", "K_per_d", "ti_d"]].round(2).tolist()
    (True, [91.97, 0.3, 10.01])
    >>> fit.expect([31], chick=3).round(1).values.tolist()
    [[31.0, 78.9, 74.6, 83.4]]
    """
    _known(covariance, "covariance", COVARIANCES)
    if not isinstance(random, Mapping) or not all(isinstance(effects, Sequence) for effects in random.values()):
        raise ValueError(
            f'random needs the effects of each level, such as {{"chick": ("A", "K", "ti")}}, not {random!r}.'
        )
    for name, effects in random.items():
        _known(name, "level", LEVELS)
        for effect in effects:
            _known(effect, "effect", NAMES)
    if not random.get("chick"):
        raise ValueError('random needs the effects of "chick", such as ("A", "K", "ti").')
    places = {name: {NAMES.index(effect) for effect in effects} for name, effects in random.items()}
    levels = {name: Level(tuple(sorted(some)), covariance == "full") for name, some in places.items() if some}
    model, pairs, names = model_of(frame, curve, error, scale, with_pairs="pair" in levels)
    if why := nothing_to_fit(model.rows, model.curve):
        raise ValueError(in_words(why))
    used = (levels["chick"],) if model.first is None else (levels["chick"], levels["pair"])
    return MixedFit(model, used, _most_likely(model, used), pairs, names)


def model_of(
    frame: pd.DataFrame, curve: str, error: str, scale: str, *, with_pairs: bool
) -> tuple[Model, pd.Index, pd.Index]:
    """Return the model, the names of its pairs, and those of the chicks in order; ValueError as `fit_mixed`."""
    form = named_curve(curve)
    for given, name, known in ((curve, "curve", OF_THREE), (error, "error", ERRORS), (scale, "scale", SCALES)):
        _known(given, name, known)
    rows = weighings_of(frame)
    names, first, pairs = rows.chicks, None, pd.Index([], name="pair", dtype=object)
    if with_pairs and "pair" in frame.columns and frame["pair"].notna().any():
        rows, first, pairs = pair_by_pair(frame, rows)
    return Model(rows, first, form, error == "additive", scale == "natural"), pairs, names


def _known(given: str, name: str, known: Sequence[str]) -> None:
    if given not in known:
        raise ValueError(f"There is no {name} {given!r} here. Use {' or '.join(known)}.")


def _most_likely(model: Model, levels: tuple[Level, ...]) -> Found:
    """The fit of greatest likelihood, sigma profiled out.

    The alternation can end in several places where chicks differ much or have not bent yet. An easy search is
    believed; else other starts are tried, each chick's own curve and the fit of independent effects among them, until
    two end at the same, the likeliest place (or two run off to ever larger final weights). The likeliest that settles
    is taken.
    """
    found = [_go(model, levels, begin(model, levels, COMMON[0]), FEW_ROUNDS)]
    easy = found[0].settled and found[0].rounds <= EASY_ROUNDS and not at_zero(levels, found[0].x)[0].any()
    # Where no chick was weighed twice there is nothing to choose between starts by.
    if not easy and model.rows.sizes.max() > 1:
        for start in _other_starts(model, levels):
            found.append(_go(model, levels, start, FEW_ROUNDS))
            best = max(one.value for one in found)
            if sum(one.value > best - SAME_END for one in found) > 1:
                break
            # On their way to ever larger final weights: growth is fastest after the last weighing.
            if sum(not one.settled and one.state.mean[2] > model.rows.age_d.max() for one in found) > 1:
                found = [max(found, key=_trust)]
                break
    return max([*found, *_gone_on(model, levels, found)], key=_trust)


def _go(model: Model, levels: tuple[Level, ...], start: tuple[State, Array], rounds: int) -> Found:
    return search(model, *start, bounds(levels), lambda evidence, x, unit: objective(evidence, levels, x), rounds)


def _other_starts(model: Model, levels: tuple[Level, ...]) -> Iterator[tuple[State, Array]]:
    yield _each_its_own(model, levels)
    yield begin(model, levels, COMMON[1])
    if any(level.full for level in levels):
        yield _as_if_apart(model, levels)
    yield begin(model, levels, COMMON[2])


def _trust(found: Found) -> tuple[bool, float]:
    return found.settled, found.value


def _gone_on(model: Model, levels: tuple[Level, ...], found: list[Found]) -> list[Found]:
    """Searches that did not settle gone on with: the likeliest first, while they are likelier than what did settle."""
    best, more = max(found, key=_trust), []
    for start in sorted((one for one in found if not one.settled), key=lambda one: -one.value)[:GONE_ON]:
        if not best.settled or start.value > best.value + SAME_END:
            more.append(_go(model, levels, (start.state, start.x), MOST_ROUNDS))
            best = max(best, more[-1], key=_trust)
    return more


def _as_if_apart(model: Model, levels: tuple[Level, ...]) -> tuple[State, Array]:
    """The fit of independent effects, and its standard deviations with correlations beside them, all zero."""
    apart = tuple(replace(level, full=False) for level in levels)
    found = _go(model, apart, begin(model, apart, COMMON[0]), FEW_ROUNDS)
    sds = zip(levels, split(apart, found.x), strict=True)
    return found.state, np.concatenate([np.pad(part, ((0, level.size - len(part)), (0, 0))) for level, part in sds])


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
        parts = [np.append(sd[list(one.effects)], np.zeros(one.size - len(one.effects))) for one in levels]
        x = np.clip(np.concatenate(parts)[:, None], np.log(LEAST), np.log(MOST))
        at = objective(state.evidence(model), levels, x)[0]
        sigma = float(at.sigma[0])
        state, moved, _ = advance(model, state, at)
        if moved < NEAR:
            break
    return state, x


def _each_its_own(model: Model, levels: tuple[Level, ...]) -> tuple[State, Array]:
    """A first state where every chick weighed often enough has the start of its own curve."""
    state, x = begin(model, levels, COMMON[0])
    often = model.rows.sizes > len(model.curve.parameters)
    if not often.any():
        return state, x
    own = model.to_fit(start_values(model.rows.only(often), model.curve, additive=model.additive).T)
    chick, mean = np.zeros_like(state.chick), np.median(own, axis=1)
    far, at = reach(model, mean)[:, None], np.array(levels[0].effects)
    chick[np.ix_(at, often)] = np.clip(own - mean[:, None], -2 * far, 2 * far)[at]
    now = replace(state, mean=mean, chick=chick)
    return replace(now, straight=model.straighten(now.theta(model))), x


def first_mean(model: Model) -> Array:
    """A curve for all: that of a chick made of all weighings, or of the middle chick, whichever fits better.

    The chick made of all has a dozen weighings: the middle age and weight of as many parts of all, by age.
    """
    rows = model.rows.only(evenly(np.ones(len(model.rows.sizes), bool), ENOUGH))
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
