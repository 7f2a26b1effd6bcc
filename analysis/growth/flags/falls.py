"""The fall before weaning: parrot chicks rise above adult weight and lose about a tenth until they are weaned."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.log import Log
from analysis.growth.flags.population import Population, chicks_of
from analysis.growth.flags.residuals import median_of
from analysis.growth.peak import FALLEN

# Look above a tenth, act above 15 % (trade: a loss over 10 % says not ready to wean, Duerr & Gage 2020 p. 750,
# finches; a general magazine gives 10-25 %; the cut at 15 % is ours).
LOOK, ACT = 0.105, 0.15
# A chick falls from a peak only once its curve has come so far; before that it stalls or loses.
GROWN = 0.85


@dataclass(frozen=True)
class Falls:
    """Each weighing against its chick's peak up to then, both by the middle of three weighings.

    Parameters
    ----------
    peak : (weighings,), ln of the peak; -inf while the chick is not grown
    peak_at : (weighings,), at which weighing that was
    fall : (weighings,), share of the peak that is lost
    """

    peak: Array
    peak_at: np.ndarray
    fall: Array

    def past(self, log: Log) -> np.ndarray:
        """Which weighings are past their chick's peak, once it has fallen, (weighings,)."""
        last = log.rows.last
        fell = np.repeat(self.fall[last] >= FALLEN, log.rows.sizes)
        return fell & (np.arange(len(self.peak)) > np.repeat(self.peak_at[last], log.rows.sizes))


def falls(log: Log, population: Population, theta: Array) -> Falls:
    """Follow each chick from its peak; theta: (3, weighings), its curve as known at each weighing."""
    y = log.log_mass - population.filled(log)
    smooth = running_middle(log, y)
    held = np.where(log.rows.age_d >= grown_at(population, theta), smooth, -np.inf)
    peak, peak_at = held.copy(), np.arange(len(y))
    for first, size in zip(log.rows.first, log.rows.sizes, strict=True):
        own = slice(first, first + size)
        peak[own] = np.maximum.accumulate(held[own])
        peak_at[own] = np.maximum.accumulate(np.where(held[own] >= peak[own], peak_at[own], first))
    known = np.isfinite(peak)
    fall = np.zeros(len(y))
    fall[known] = -np.expm1(smooth[known] - peak[known])
    return Falls(peak, np.maximum(peak_at - 1, log.rows.each(log.rows.first)), fall)


def falls_back(log: Log, population: Population) -> Falls:
    """The same looking back, each chick by its curve through all its weighings."""
    return falls(log, population, np.repeat(chicks_of(log, population).theta, log.rows.sizes, axis=1))


def running_middle(log: Log, y: Array) -> Array:
    """Median of each weighing and the two before it; -inf for a chick's first two."""
    n = len(y)
    last, of = np.full((3, n), np.nan), log.of
    for back in range(3):
        same = np.flatnonzero(of[back:] == of[: n - back]) + back
        last[back, same] = y[same - back]
    middle, count = median_of(last)
    return np.where(count == 3, middle, -np.inf)


def grown_at(population: Population, theta: Array) -> Array:
    """Age at which each curve has come so far towards its end that a chick is grown."""
    age_d: Array = theta[2] - population.curve.z_at(np.log(GROWN)) / np.exp(theta[1])
    return age_d
