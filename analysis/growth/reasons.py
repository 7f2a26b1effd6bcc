"""Why a chick has no curve, or none to show yet: findings."""

from collections.abc import Callable

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analysis.finding import Finding, found
from analysis.growth.curves import Array, Curve
from analysis.growth.weighings import Weighings

# Practice, our own cuts, no source: beyond them a final weight is a guess and not a finding.
MOST_BEYOND = 2.0  # final weight / heaviest weighing
MOST_UNSURE_A = 0.25  # standard error / final weight
MOST_UNSURE_K = 0.5  # standard error / rate: twice it would reach zero


def cannot_be_fitted(rows: Weighings, curve: Curve) -> np.ndarray:
    """Why a chick cannot be fitted at all, before trying: (chicks,), blank where it can."""
    p, n, ages = len(curve.parameters), rows.sizes, _different_ages(rows)
    age, log_mass = rows.age_d, np.log(rows.mass_g)
    rise = rows.total((age - rows.each(rows.total(age) / n)) * log_mass)
    flat = rows.total((rows.mass_g != rows.each(rows.mass_g[rows.first])).astype(float)) == 0
    return _first_that_holds(
        len(n),
        (n <= p, _counted(n, lambda count: found("growth.own-too-few", weighings=count, needed=p + 1))),
        (ages == 1, found("growth.own-one-age")),
        (ages < p, _counted(ages, lambda count: found("growth.own-few-ages", ages=count, needed=p))),
        (flat, found("growth.own-flat")),
        (rise <= 0, found("growth.own-no-rise")),
    )


def did_not_settle(theta: Array, rows: Weighings) -> np.ndarray:
    """Why the search found no curve for any of these chicks: (chicks,)."""
    beyond = theta[:, 0] - np.log(rows.heaviest())
    from_ti = rows.each(np.exp(theta[:, 1])) * np.abs(rows.age_d - rows.each(theta[:, 2]))
    in_the_rise = rows.total((from_ti < 3).astype(float))
    return _first_that_holds(
        len(rows.sizes),
        (beyond > np.log(100), found("growth.own-no-bend")),
        (in_the_rise < 2, found("growth.own-jumps")),
        (np.full(len(rows.sizes), True), found("growth.own-unsettled")),
    )


def not_to_be_shown(fits: pd.DataFrame, rows: Weighings) -> np.ndarray:
    """Why the numbers of a fitted curve are no finding: (chicks,), blank where they may be shown."""
    last = rows.age_d[rows.last] if len(rows.sizes) else np.zeros(0)
    return _first_that_holds(
        len(fits),
        (fits["ti_d"] > last, found("growth.own-no-bend")),
        (fits["A_g"] > MOST_BEYOND * rows.heaviest(), found("growth.own-far-beyond", times=MOST_BEYOND)),
        (fits["A_g_se"] > MOST_UNSURE_A * fits["A_g"], found("growth.own-unsure-weight")),
        (fits["K_per_d_se"] > MOST_UNSURE_K * fits["K_per_d"], found("growth.own-unsure-rate")),
    )


def _different_ages(rows: Weighings) -> np.ndarray:
    new = np.append(True, np.diff(rows.age_d) != 0)[: len(rows.age_d)]
    new[rows.first] = True
    return rows.total(new.astype(float)).astype(int)


def _counted(counts: np.ndarray, of_count: Callable[[int], Finding]) -> np.ndarray:
    """The finding of each chick's count: one for each count that there is."""
    different, of = np.unique(counts, return_inverse=True)
    return np.array([of_count(int(count)) for count in different], object)[of]


def _first_that_holds(count: int, *cases: tuple[ArrayLike, object]) -> np.ndarray:
    """For each chick the finding of the first case that holds, else blank."""
    why = np.full(count, "", object)
    for holds, because in reversed(cases):
        why = np.where(holds, np.asarray(because, object), why)
    return why
