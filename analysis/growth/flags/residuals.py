"""What a weighing is off when it is not asked itself: its chick's curve without it, and its neighbours."""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.log import Log
from analysis.growth.flags.population import Population, chicks_of

# Weighings either side, no further away than this, that say where a chick stood (practice, ours).
BESIDE, NEAR_D = 2, 4.0
BOTH_SIDES = (*range(-BESIDE, 0), *range(1, BESIDE + 1))


@dataclass(frozen=True)
class Residuals:
    """Each weighing against what all others say.

    Parameters
    ----------
    off : (weighings,), ln mass less what was expected: of the chick's curve through its other weighings, or past
        its peak of the weighings beside it
    sd : (weighings,), scale of that
    z : (weighings,), scales off by the curve and by the weighings beside it, the lesser of the two; 0 where they
        differ in sign
    """

    off: Array
    sd: Array
    z: Array


def residuals(log: Log, population: Population, rising: np.ndarray) -> Residuals:
    """Hold each weighing against its chick's others; `rising` (weighings,): it is not past the peak."""
    y = log.log_mass - population.filled(log)
    scale = population.scatter.scale(log.rows.mass_g)
    off, sd, about = np.zeros(len(y)), scale * np.sqrt(1.4), y.copy()
    chicks = chicks_of(log.keep(rising), population)
    left = 1 - np.minimum(chicks.leverage, 0.98)
    unsure = chicks.leverage * chicks.scale**2 / np.maximum(chicks.counted, 1e-3)
    off[rising], about[rising] = chicks.off / left, chicks.off
    sd[rising] = np.sqrt(chicks.scale**2 + np.minimum(unsure / left, 0.25))
    stood, beside = beside_it(log, about, rising, BOTH_SIDES)
    local, local_sd = about - stood, scale * np.sqrt(1 + 1.5 / np.maximum(beside, 1))
    off = np.where(rising, off, np.where(beside > 0, local, 0.0))
    z, by_local = off / sd, local / local_sd
    nearer = np.where(z * by_local > 0, np.sign(z) * np.minimum(np.abs(z), np.abs(by_local)), 0.0)
    return Residuals(off, sd, np.where(beside >= 2, nearer, np.where(rising, z, 0.0)))


def beside_it(log: Log, values: Array, kind: np.ndarray, steps: tuple[int, ...]) -> tuple[Array, np.ndarray]:
    """Median of the values of a chick's weighings so many before or after, and how many they are.

    Parameters
    ----------
    values, kind : (weighings,); only weighings of the same kind are looked at
    steps : such as -1 for the one before
    """
    n, of, at = len(values), log.of, np.arange(len(values))
    beside = np.full((len(steps), n), np.nan)
    for i, step in enumerate(steps):
        other = np.clip(at + step, 0, n - 1)
        near = (at + step == other) & (of[other] == of) & (kind[other] == kind)
        near &= np.abs(log.rows.age_d[other] - log.rows.age_d) <= NEAR_D
        beside[i, near] = values[other[near]]
    return median_of(beside)


def median_of(values: Array) -> tuple[Array, np.ndarray]:
    """Median down each column of those that are there, 0 where none is, and how many they are.

    Examples
    --------
    >>> middle, count = median_of(np.array([[1.0, np.nan], [4.0, np.nan], [3.0, np.nan]]))
    >>> middle.tolist(), count.tolist()
    ([3.0, 0.0], [3, 0])
    """
    count = np.sum(~np.isnan(values), axis=0)
    ordered = np.sort(values, axis=0)  # NaN last
    at = np.arange(values.shape[1])
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, len(values) - 1)
    middle = (ordered[low, at] + ordered[high, at]) / 2
    return np.where(count > 0, middle, 0.0), count
