"""A whole log of weights in another unit than the settings say, told by what no chick weighs."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import found
from analysis.logs.cells import GRAMS

# What no chick weighs less than, from an age in days on: half of the smallest finches kept (memory: a zebra finch has
# about 0.8 g when it hatches, 4 at five days, 10 at ten).
_LEAST_G = ((10.0, 5.0), (5.0, 2.0), (-np.inf, 0.4))
_ENOUGH = 3  # weighings; fewer may be slips


def logs_in_another_unit(weighings: pd.DataFrame, unit: str) -> dict[str, dict[str, Any]]:
    """Return the files of which the weights are too small to be in `unit`, each with what its advice names.

    At least three weighings, and half of those by which it can be told, must be lighter than any chick. `weighings`
    have who, age_d (NaN: not known), mass_g as read in `unit`, together and file. The facts: who, age (None: not
    known) and number of the heaviest, what it would be in each unit in which it could be a chick, and count.
    """
    alone = weighings[weighings["together"] == 1]
    light = alone["mass_g"] < alone["age_d"].map(_least_g)
    tells = light | (alone["age_d"] >= _LEAST_G[1][0])
    logs = {}
    for file, own in alone[tells].groupby("file", sort=True):
        if _ENOUGH <= light[own.index].sum() >= len(own) / 2:
            logs[str(file)] = _facts(own, unit) | {"count": int((weighings["file"] == file).sum())}
    return logs


def _least_g(age_d: float) -> float:
    return next((least for since, least in _LEAST_G if age_d >= since), _LEAST_G[-1][1])


def _facts(own: pd.DataFrame, unit: str) -> dict[str, Any]:
    heaviest = own.loc[own["mass_g"].idxmax()]
    number, age_d = heaviest["mass_g"] / GRAMS[unit], heaviest["age_d"]
    others = {other: number * grams for other, grams in GRAMS.items() if other != unit}
    may_be = [found("problems.in-unit", unit=one, mass=mass) for one, mass in others.items() if mass >= _least_g(age_d)]
    age = None if np.isnan(age_d) else found("problems.at-days", days=int(age_d))
    return {"who": heaviest["who"], "age": age, "number": float(f"{number:.3g}"), "unit": unit, "may_be": may_be}
