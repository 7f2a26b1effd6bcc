"""Mornings on which the scale was off: every chick up, or down, by the same weight."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.scatter import Scatter

# Chicks on the scale that morning, the share of them that must agree, and how much likelier the morning must be
# (ln) with one amount taken off all than without (practice, ours).
FEWEST, AGREED, LIKELIER = 4, 0.6, 10.0


@dataclass(frozen=True)
class Morning:
    """A morning on which the scale was off.

    Parameters
    ----------
    day : day number
    gram : how far off
    chicks : how many were weighed
    """

    day: int
    gram: float
    chicks: int


def mornings_off(day: np.ndarray, mass_g: Array, off: Array, sd: Array, scatter: Scatter) -> list[Morning]:
    """Find them among all weighings.

    Parameters
    ----------
    day : (weighings,), day number; -1 where it is not known
    mass_g, off, sd : (weighings,), as weighed, ln mass less what was expected, and the scale of that

    Examples
    --------
    >>> mass_g, day = np.array([40.0, 60, 80, 90, 41, 61]), np.array([1, 1, 1, 1, 2, 2])
    >>> found = mornings_off(day, mass_g, np.log(mass_g / (mass_g - [7, 7, 7, 7, 0, 0])), np.full(6, 0.03), Scatter())
    >>> [(morning.day, round(morning.gram), morning.chicks) for morning in found]
    [(1, 7, 4)]
    """
    found = []
    known = np.flatnonzero((day >= 0) & np.isfinite(off))
    order = known[np.argsort(day[known], kind="stable")]
    for some in np.split(order, np.flatnonzero(np.diff(day[order])) + 1):
        if len(some) < FEWEST:
            continue
        gram = mass_g[some] * -np.expm1(-off[some])
        one = _one_amount(gram, mass_g[some] * sd[some])
        apart, together = off[some] / sd[some], _off_without(mass_g[some], off[some], one) / sd[some]
        better = scatter.log_density(together) - scatter.log_density(apart)
        same_way = np.mean((np.sign(gram) == np.sign(one)) & (better > 0))
        if better.sum() > LIKELIER and same_way >= AGREED:
            found.append(Morning(int(day[some[0]]), float(one), len(some)))
    return found


def _one_amount(gram: Array, sd_gram: Array) -> float:
    """The middle amount, each chick's counting as much as its weight is sure in gram."""
    order = np.argsort(gram)
    trust = np.cumsum(1 / sd_gram[order])
    return float(gram[order][np.searchsorted(trust, trust[-1] / 2)])


def _off_without(mass_g: Array, off: Array, gram: float) -> Array:
    return off + np.log(np.maximum(1 - gram / mass_g, 0.01))
