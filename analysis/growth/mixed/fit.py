"""`fit_mixed`: one growth curve for a population, its pairs and its chicks, fitted together."""

from collections.abc import Mapping, Sequence

import pandas as pd

from analysis.growth.curves import CURVES, named_curve
from analysis.growth.fit import ERRORS
from analysis.growth.mixed.likelihood import LEVELS, NAMES, Level
from analysis.growth.mixed.model import Model, pair_by_pair
from analysis.growth.mixed.notes import nothing_to_fit
from analysis.growth.mixed.result import MixedFit
from analysis.growth.mixed.starts import most_likely
from analysis.growth.weighings import weighings_of
from analysis.say import in_words

COVARIANCES = ("diagonal", "full")
SCALES = ("log", "natural")
RANDOM = {"chick": ("A", "K", "ti"), "pair": ("A", "K")}


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
    >>> import numpy as np
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
    levels = _levels(random, covariance)
    model, pairs, names = model_of(frame, curve, error, scale, with_pairs="pair" in levels)
    if why := nothing_to_fit(model.rows, model.curve):
        raise ValueError(in_words(why))
    used = (levels["chick"],) if model.first is None else (levels["chick"], levels["pair"])
    return MixedFit(model, used, most_likely(model, used), pairs, names)


def model_of(
    frame: pd.DataFrame, curve: str, error: str, scale: str, *, with_pairs: bool
) -> tuple[Model, pd.Index, pd.Index]:
    """Return the model, the names of its pairs, and those of the chicks in order.

    Raises
    ------
    ValueError : as `fit_mixed`, of the frame, the curve, the error and the scale
    """
    form = named_curve(curve)
    fixed = [name for name, one in CURVES.items() if one.shape is not None]
    for given, name, known in (
        (curve, "curve", fixed),
        (error, "error", ERRORS),
        (scale, "scale", SCALES),
    ):
        _known(given, name, known)
    rows = weighings_of(frame)
    names, first, pairs = rows.chicks, None, pd.Index([], name="pair", dtype=object)
    if with_pairs and "pair" in frame.columns and frame["pair"].notna().any():
        rows, first, pairs = pair_by_pair(frame, rows)
    return Model(rows, first, form, error == "additive", scale == "natural"), pairs, names


def _levels(random: Mapping[str, Sequence[str]], covariance: str) -> dict[str, Level]:
    """The levels by name, those without effects left out."""
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
    full = covariance == "full"
    return {
        name: Level(tuple(sorted({NAMES.index(effect) for effect in effects})), full)
        for name, effects in random.items()
        if len(effects)
    }


def _known(given: str, name: str, known: Sequence[str]) -> None:
    if given not in known:
        raise ValueError(f"There is no {name} {given!r} here. Use {' or '.join(known)}.")
