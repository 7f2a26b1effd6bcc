"""What to know before the numbers of a mixed fit are used."""

from collections.abc import Sequence

import numpy as np

from analysis.finding import Finding, Words, found
from analysis.growth.curves import Array, Curve
from analysis.growth.fit import MOST_BEYOND, MOST_UNSURE_A, MOST_UNSURE_K
from analysis.growth.weighings import Weighings

EFFECTS = {"A": found("growth.effect-a"), "K": found("growth.effect-k"), "ti": found("growth.effect-ti")}
AT_ZERO = {"chick": "growth.zero-chick", "pair": "growth.zero-pair"}
# Chicks of a single weighing that a curve is looked for in at all (practice, ours).
LEAST_ONCE = 20
# Weighings beyond the three numbers of a curve, without which their scatter is hardly known (practice, ours).
LEAST_FREE = 3


def nothing_to_fit(rows: Weighings, curve: Curve) -> Words:
    """Why these weighings hold no curve at all, before trying; blank where one may be found."""
    p = len(curve.parameters)
    n, ages = len(rows.age_d), len(np.unique(rows.age_d))
    if n <= p:
        return found("growth.too-few", weighings=n, needed=p + 1)
    if ages == 1:
        return found("growth.one-age")
    if ages < p:
        return found("growth.few-ages", ages=ages, needed=p)
    if rows.sizes.max() == 1 and n < LEAST_ONCE:
        return found("growth.weighed-once", chicks=n, needed=LEAST_ONCE)
    if np.all(rows.mass_g == rows.mass_g[0]):
        return found("growth.flat")
    if np.sum((rows.age_d - rows.age_d.mean()) * np.log(rows.mass_g)) <= 0:
        return found("growth.no-rise")
    return ""


def not_to_be_shown(settled: bool, units: Array, errors: Array, rows: Weighings) -> Words:
    """Why the numbers of a fit are no finding; blank where they may be shown.

    Parameters
    ----------
    settled : whether the search came to rest
    units, errors : (3,), A_g, K_per_d and ti_d of the population, and their standard errors
    rows : the weighings
    """
    if len(rows.age_d) < len(units) + LEAST_FREE:
        return found("growth.barely", weighings=len(rows.age_d))
    late, beyond = units[2] > rows.age_d.max(), units[0] > MOST_BEYOND * rows.mass_g.max()
    if not settled and (late or beyond):
        return found("growth.ran-off")
    if not settled:
        return found("growth.unsettled")
    if late:
        return found("growth.no-bend")
    if beyond:
        return found("growth.far-beyond", times=MOST_BEYOND)
    if not errors[0] <= MOST_UNSURE_A * units[0]:
        return found("growth.unsure-weight")
    if not errors[1] <= MOST_UNSURE_K * units[1]:
        return found("growth.unsure-rate")
    return ""


def notes_on(
    rows: Weighings, first: np.ndarray | None, zero: Sequence[tuple[str, str]], endless: bool
) -> tuple[Finding, ...]:
    """What could not be told from these weighings.

    Parameters
    ----------
    rows, first : the weighings, and at which chick each pair begins
    zero : the standard deviations at zero, as (level, parameter)
    endless : whether one is so large that the scatter of weighings counts for nothing beside it
    """
    chicks, once = len(rows.sizes), int(np.count_nonzero(rows.sizes == 1))
    pairs = 0 if first is None else len(first)
    said = [
        (chicks == 1, found("growth.one-chick")),
        (once == chicks > 1, found("growth.once-each")),
        (0 < once < chicks, found("growth.once-some", once=once, chicks=chicks)),
        (pairs == 1, found("growth.one-pair")),
        (1 < pairs == chicks, found("growth.chick-a-pair")),
        (endless, found("growth.no-scatter")),
    ]
    notes = [note for holds, note in said if holds]
    if chicks > 1:
        notes += [found(AT_ZERO[level], effect=EFFECTS[effect]) for level, effect in zero]
    return tuple(notes)
