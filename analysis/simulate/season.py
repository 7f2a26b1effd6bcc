"""A whole season, from the seed to the keeper's logs."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analysis.simulate.assumptions import Assumptions
from analysis.simulate.checks import assume
from analysis.simulate.chicks import draw_chicks
from analysis.simulate.eggs import draw_cages, draw_clutches, draw_eggs, draw_pairs
from analysis.simulate.plan import draw_plan
from analysis.simulate.rows import Logs, keepers_logs
from analysis.simulate.weights import draw_weights
from analysis.simulate.write import write_logs


@dataclass(frozen=True)
class Truth:
    """What a simulated season was made from, and what was written of it.

    Attributes
    ----------
    assumptions
        Every parameter.
    pairs
        pair, species, kind, never_fertile, p_fertile, p_hatch, p_wean (in a cage with effect 0), the effects
        hatch_effect and wean_effect (logit), and ln_A, ln_K, ti_share (growth).
    cages
        cage, effect (logit, on hatching and weaning).
    clutches
        pair, clutch, species, cage, incubated_by, reared_by, first_egg_on, eggs, fails ("", "eggs",
        "chicks"), and the rates that held: p_fertile, p_hatch, p_wean.
    eggs
        pair, clutch, egg, laid_on, set_on, fertile (the truth), candled (as written), outcome, hatched_on.
    chicks
        chick, pair, clutch, egg, species, place (in the order of hatching), hatched_on, reared_by,
        fostered_to; A_g, K_per_d, ti_d, shape, fall, lag_d (the true curve); fate, ends_on, ends_d, wean_d;
        stall_d (the first day without gain; -1: none), stall_days, stall_drop.
    weights
        chick, pair, clutch, species, reared_by, weighed_at, age_d, true_g, mass_g (as written), crop_filled,
        crop (as written), mistake ("", "slip", "swap", "scale").
    logs
        The rows a keeper would have written, by log.
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
    eggs = draw_eggs(plan, clutches, a, stages[3])
    chicks = draw_chicks(plan, pairs, clutches, eggs, a, stages[4])
    weights = draw_weights(chicks, a, stages[5])
    logs = keepers_logs(plan, eggs, chicks, weights, a)
    if folder is not None:
        write_logs(folder, logs, weights_as=a.weights_as)
    return Truth(seed, a, pairs, cages, clutches, eggs, chicks, weights, logs)
