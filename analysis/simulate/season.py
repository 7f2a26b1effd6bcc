"""A whole season, from the seed to the keeper's logs."""

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analysis.simulate.assumptions import CURVES, SPECIES, Assumptions, Species, draw_plan
from analysis.simulate.broods import correlation, draw_cages, draw_chicks, draw_clutches, draw_eggs, draw_pairs
from analysis.simulate.scale import draw_weights
from analysis.simulate.write import Logs, keepers_logs, write_logs


def _number(value: Any) -> bool:
    return not isinstance(value, bool) and math.isfinite(value)


def _numbers(value: Any, count: int) -> bool:
    return len(value) == count and all(_number(x) for x in value)


# by kind: what holds of a value, and how to say so
_KINDS: dict[str, tuple[Callable[[Any], bool], str]] = {
    "count": (lambda v: _number(v) and v == int(v) and v >= 1, "a whole number of at least 1"),
    "share": (lambda v: _number(v) and 0 <= v <= 1, "between 0 and 1"),
    "size": (lambda v: _number(v) and v >= 0, "zero or more"),
    "effect": (_number, "a number"),
    "sds": (lambda v: _numbers(v, 3) and min(v) >= 0, "three numbers of zero or more"),
    "correlation": (
        lambda v: _numbers(v, 3) and np.linalg.eigvalsh(correlation(*v)).min() > 1e-9,
        "three correlations that can hold together",
    ),
    "shares": (lambda v: _numbers(v, 4) and min(v) >= 0 and sum(v) > 0, "four shares, not all zero"),
    "curve": (lambda v: v in CURVES, f"one of {', '.join(CURVES)}"),
    "weights": (lambda v: v in ("list", "grid"), "one of list, grid"),
    "eggs": (lambda v: v in ("rows", "counts"), "one of rows, counts"),
    "other": (lambda v: True, ""),
}


def assume(**truth: Any) -> Assumptions:
    """The defaults with some of them replaced; a ValueError for what is no parameter, or a value it cannot take."""
    known = {f.name: f for f in fields(Assumptions)}
    for name in truth:
        if name not in known:
            close = " or ".join(get_close_matches(name, known, n=3, cutoff=0.6))
            hint = f" Did you mean {close}?" if close else f" There are: {', '.join(known)}."
            raise ValueError(f"There is no parameter {name}.{hint}")
    made = replace(Assumptions(), **truth)
    for name, one in known.items():
        _check(name, getattr(made, name), one.metadata["kind"])
    _check_pairs(made)
    _check_together(made)
    return made


def _check(name: str, value: Any, kind: str) -> None:
    holds, must = _KINDS[kind]
    try:
        fine = holds(value)
    except (TypeError, ValueError, OverflowError):
        fine = False
    if not fine:
        raise ValueError(f"{name} is {value!r}; it must be {must}.")


def _check_pairs(made: Assumptions) -> None:
    given = (*made.species, *(p.species for p in made.plan))
    unknown = [s for s in given if not isinstance(s, Species) and s not in SPECIES]
    if unknown or not made.species:
        raise ValueError(f"species is {unknown or made.species!r}; known are {', '.join(SPECIES)}, or give a Species.")
    for pair in made.plan:
        if not pair.clutches or min(clutch.eggs for clutch in pair.clutches) < 1:
            raise ValueError(f"The plan gives {pair.pair} no clutch, or a clutch of no eggs; leave it out instead.")
        for name in ("fertile", "hatch", "wean"):
            if getattr(pair, name) is not None:
                _check(f"{name} of {pair.pair}", getattr(pair, name), "share")


def _check_together(made: Assumptions) -> None:
    for least, most in (("least_clutches", "most_clutches"), ("least_eggs", "most_eggs")):
        if getattr(made, least) > getattr(made, most):
            raise ValueError(f"{least} is {getattr(made, least)}, more than {most}, {getattr(made, most)}.")
    if made.tails <= 2:
        raise ValueError(f"tails is {made.tails}; it must be above 2, or the scatter has no spread.")
    if min(made.fine_g, made.coarse_g) <= 0:
        raise ValueError(f"fine_g is {made.fine_g} and coarse_g is {made.coarse_g}; a scale has a step above 0.")
    if made.day_to_day == 1:
        raise ValueError("day_to_day is 1; it must be below 1, or every day repeats the first.")


@dataclass(frozen=True)
class Truth:
    """What a simulated season was made from, and what was written of it; effects on rates are on the logit.

    `pairs`: with p_hatch, p_wean in a cage with effect 0, and ln_A, ln_K, ti_share (growth). `cages`: cage, effect (on
    hatching and weaning). `clutches`: with fails ("", "eggs", "chicks") and the rates that held. `eggs`: fertile is the
    truth, candled as written. `chicks`: place (in the order of hatching); A_g, K_per_d, ti_d, shape, fall, lag_d (the
    true curve); fate, ends_on, ends_d, wean_d; stall_d (the first day without gain; -1: none), stall_days, stall_drop.
    `weights`: true_g, mass_g and crop (as written), crop_filled, mistake ("", "slip", "swap", "scale").
    `logs`: the rows a keeper would have written, by log.
    """

    seed: int
    assumptions: Assumptions
    pairs: pd.DataFrame
    cages: pd.DataFrame
    clutches: pd.DataFrame
    eggs: pd.DataFrame
    chicks: pd.DataFrame
    weights: pd.DataFrame
    logs: Logs


def simulate_season(folder: str | Path | None, seed: int, **truth: Any) -> Truth:
    """Make a season with known truth, and write it as a keeper's logs.

    Parameters
    ----------
    folder
        A new or empty folder for the CSV logs; None writes nothing.
    seed
        The same seed and truth give the same bytes.
    **truth
        Any parameter of `Assumptions`; `assumptions_table` lists them with default, meaning and origin.

    Returns
    -------
    Truth
        Every true value, and the logs as rows.

    Raises
    ------
    ValueError
        A parameter that does not exist, or a value it cannot take.
    SeasonError
        The folder holds something already, or cannot be written.

    Examples
    --------
    >>> truth = simulate_season(None, 1, pairs=3, clutch_fails=0.0)
    >>> len(truth.pairs), list(truth.logs)
    (3, ['settings', 'pairs', 'cages', 'hatches', 'weights', 'losses', 'moves'])
    """
    a = assume(**truth)
    stages = [np.random.Generator(np.random.PCG64(s)) for s in np.random.SeedSequence(seed).spawn(6)]
    plan = draw_plan(a, stages[0])
    pairs, cages = draw_pairs(plan, a, stages[1]), draw_cages(plan, a, stages[2])
    clutches = draw_clutches(plan, pairs, cages, a, stages[2])
    kinds = {p.pair: a.kind(p.species) for p in plan}
    eggs = draw_eggs(clutches, kinds, a, stages[3])
    chicks = draw_chicks(eggs, clutches, pairs, kinds, a, stages[4])
    weights = draw_weights(chicks, a, stages[5])
    logs = keepers_logs(plan, eggs, chicks, weights, a)
    if folder is not None:
        write_logs(folder, logs, weights_as=a.weights_as)
    return Truth(seed, a, pairs, cages, clutches, eggs, chicks, weights, logs)
