"""Why a chick has no curve, or none to show yet, in words a keeper understands."""

import numpy as np
import pandas as pd

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
        (n <= p, _words(n, f"too few weighings: {{}}, and this curve needs {p + 1}")),
        (ages == 1, "all its weighings are at the same age"),
        (ages < p, _words(ages, f"weighed at only {{}} different ages, and this curve needs {p}")),
        (flat, "no rise: all its weights are the same"),
        (rise <= 0, "no rise: its weight does not go up with age"),
    )


def did_not_settle(theta: Array, rows: Weighings) -> np.ndarray:
    """Why the search found no curve for any of these chicks: (chicks,)."""
    beyond = theta[:, 0] - np.log(rows.heaviest())
    from_ti = rows.each(np.exp(theta[:, 1])) * np.abs(rows.age_d - rows.each(theta[:, 2]))
    in_the_rise = rows.total((from_ti < 3).astype(float))
    return _first_that_holds(
        len(rows.sizes),
        (beyond > np.log(100), "no bend yet: growth has not begun to slow by the last weighing"),
        (in_the_rise < 2, "too few weighings while it grew: its weight jumps from one weighing to the next"),
        (np.full(len(rows.sizes), True), "its weighings do not settle a curve of this kind"),
    )


def not_to_be_shown(fits: pd.DataFrame, rows: Weighings) -> np.ndarray:
    """Why the numbers of a fitted curve are no finding: (chicks,), blank where they may be shown."""
    last = rows.age_d[rows.last] if len(rows.sizes) else np.zeros(0)
    return _first_that_holds(
        len(fits),
        (fits["ti_d"] > last, "no bend yet: growth has not begun to slow by the last weighing"),
        (
            fits["A_g"] > MOST_BEYOND * rows.heaviest(),
            f"no bend yet: the final weight would be more than {MOST_BEYOND:g} times its heaviest weighing",
        ),
        (fits["A_g_se"] > MOST_UNSURE_A * fits["A_g"], "no bend yet: its final weight is still too unsure"),
        (fits["K_per_d_se"] > MOST_UNSURE_K * fits["K_per_d"], "not enough to judge how fast it grew"),
    )


def _different_ages(rows: Weighings) -> np.ndarray:
    new = np.append(True, np.diff(rows.age_d) != 0)[: len(rows.age_d)]
    new[rows.first] = True
    return rows.total(new.astype(float)).astype(int)


def _words(counts: np.ndarray, words: str) -> np.ndarray:
    different, of = np.unique(counts, return_inverse=True)
    return np.array([words.format(count) for count in different], object)[of]


def _first_that_holds(count: int, *cases: tuple) -> np.ndarray:
    """For each chick the words of the first case that holds, else blank."""
    why = np.full(count, "", object)
    for holds, words in reversed(cases):
        why = np.where(holds, np.asarray(words, object), why)
    return why
