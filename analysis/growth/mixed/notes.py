"""What to know before the numbers of a mixed fit are used, in words a keeper understands."""

from collections.abc import Sequence

import numpy as np

from analysis.growth.curves import Array, Curve
from analysis.growth.reasons import MOST_BEYOND, MOST_UNSURE_A, MOST_UNSURE_K
from analysis.growth.weighings import Weighings

WORDS = {"A": "final weight", "K": "rate of growth", "ti": "age at the fastest growth"}
# Chicks of a single weighing that a curve is looked for in at all (practice, ours).
LEAST_ONCE = 20
# Weighings beyond the three numbers of a curve, without which their scatter is hardly known (practice, ours).
LEAST_FREE = 3
UNITS = {"chick": "Chicks", "pair": "Pairs"}


def nothing_to_fit(rows: Weighings, curve: Curve) -> str:
    """Why these weighings hold no curve at all, before trying; blank where one may be found."""
    p = len(curve.parameters)
    n, ages = len(rows.age_d), len(np.unique(rows.age_d))
    if n <= p:
        return f"Too few weighings: {n}, and this curve needs {p + 1}."
    if ages == 1:
        return "All weighings are at the same age."
    if ages < p:
        return f"Weighed at only {ages} different ages, and this curve needs {p}."
    if rows.sizes.max() == 1 and n < LEAST_ONCE:
        return f"Each chick was weighed once: {n} such chicks hold no curve, and {LEAST_ONCE} might."
    if np.all(rows.mass_g == rows.mass_g[0]):
        return "No rise: all weights are the same."
    if np.sum((rows.age_d - rows.age_d.mean()) * np.log(rows.mass_g)) <= 0:
        return "No rise: the weights do not go up with age."
    return ""


def not_to_be_shown(settled: bool, units: Array, errors: Array, rows: Weighings) -> str:
    """Why the numbers of a fit are no finding; blank where they may be shown.

    Parameters
    ----------
    settled : whether the search came to rest
    units, errors : (3,), A_g, K_per_d and ti_d of the population, and their standard errors
    rows : the weighings
    """
    if len(rows.age_d) < len(units) + LEAST_FREE:
        return f"Not enough to judge: {len(rows.age_d)} weighings in all barely fix a curve, let alone how sure it is."
    late, beyond = units[2] > rows.age_d.max(), units[0] > MOST_BEYOND * rows.mass_g.max()
    if not settled and (late or beyond):
        return "The search for a curve did not come to rest: it ran off to ever larger final weights."
    if not settled:
        return "The search for a curve did not come to rest: these weighings do not settle it."
    if late:
        return "No bend yet: growth has not begun to slow by the last weighing."
    if beyond:
        return f"No bend yet: the final weight would be more than {MOST_BEYOND:g} times the heaviest weighing."
    if not errors[0] <= MOST_UNSURE_A * units[0]:
        return "No bend yet: the final weight is still too unsure."
    if not errors[1] <= MOST_UNSURE_K * units[1]:
        return "Not enough to judge how fast they grew."
    return ""


def notes_on(
    rows: Weighings, first: np.ndarray | None, zero: Sequence[tuple[str, str]], endless: bool
) -> tuple[str, ...]:
    """What could not be told from these weighings, in sentences.

    Parameters
    ----------
    rows, first : the weighings, and at which chick each pair begins
    zero : the standard deviations at zero, as (level, parameter)
    endless : whether one is so large that the scatter of weighings counts for nothing beside it
    """
    chicks, once = len(rows.sizes), int(np.count_nonzero(rows.sizes == 1))
    pairs = 0 if first is None else len(first)
    said = [
        (chicks == 1, "There is one chick, so how chicks differ cannot be told."),
        (once == chicks > 1, "Each chick has one weighing: how chicks differ cannot be told from the scatter."),
        (0 < once < chicks, f"{once} of {chicks} chicks have one weighing: what is said of them leans on the rest."),
        (pairs == 1, "There is one pair, so how pairs differ cannot be told."),
        (1 < pairs == chicks, "Each pair has one chick: what is the pair's cannot be told from what is the chick's."),
        (endless, "The scatter of weighings is as good as zero beside how much chicks differ."),
    ]
    notes = [sentence for holds, sentence in said if holds]
    if chicks > 1:
        notes += [
            f"{UNITS[level]} differ in {WORDS[effect]} by no more than chance: that variance is put at zero."
            for level, effect in zero
        ]
    return tuple(notes)
