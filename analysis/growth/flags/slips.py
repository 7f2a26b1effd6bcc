"""Weighings that look mistaken: another weight than the chick can have had, or its nest-mate's."""

from itertools import combinations

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.log import Log
from analysis.growth.flags.population import NEAR_D, Residuals
from analysis.growth.flags.settle import Scatter

# How often a good weighing may be called mistaken; and a weighing within a tenth is never called so (ours).
SELDOM, LEAST_OFF = 1 / 4000, 0.10
# Two chicks of a morning are looked at together where each is so many scales off, and called swapped where that
# makes their weights so much likelier (ln).
APART, LIKELIER = 2.0, 6.0
# A weighing that one beside it bears out, by as much as this share of what it is off, is no slip.
BORNE_OUT, SURELY = 0.5, 2.5
# A last weight that is no further than this below the one before it is not told from a loss.
LOSABLE = 0.18


def far(scatter: Scatter) -> float:
    """How many scales off a good weighing is as seldom as `SELDOM`."""
    from scipy.special import stdtrit

    return float(-stdtrit(scatter.tails, SELDOM / 2))


def mistaken(z: Array, off: Array, scatter: Scatter) -> np.ndarray:
    """Whether weighings z scales and `off` (ln) away from what was expected look mistaken."""
    return (np.abs(z) > far(scatter)) & (np.abs(np.expm1(off)) > LEAST_OFF)


def slips(log: Log, left: Residuals, scatter: Scatter) -> np.ndarray:
    """Which weighings look mistaken, looking back, (weighings,)."""
    found = mistaken(left.z, left.off, scatter)
    z = left.off / left.sd
    found &= ~(borne_out(log, left.off, z, -1) | borne_out(log, left.off, z, 1))
    found[log.rows.last] &= ~((left.off < 0) & (lost_since(log) < LOSABLE))[log.rows.last]
    return found


def lost_since(log: Log) -> Array:
    """What share of its weight a chick has lost since the weighing before, (weighings,); 0 where it lost nothing."""
    change = log.log_mass - np.roll(log.log_mass, 1)
    change[log.rows.first] = 0.0
    return np.maximum(-np.expm1(change), 0.0)


def borne_out(log: Log, off: Array, z: Array, step: int) -> np.ndarray:
    """Whether the weighing before (`step` -1) or after (1) is off the same way, and by much as well.

    Two that agree are no slip of the pen: the chick has left its curve.
    """
    at = np.arange(len(off))
    other = np.clip(at + step, 0, len(off) - 1)
    beside = (at + step == other) & (log.of[other] == log.of)
    beside &= np.abs(log.rows.age_d[other] - log.rows.age_d) <= NEAR_D
    as_much = np.abs(off[other]) > BORNE_OUT * np.abs(off)
    agree: np.ndarray = beside & (off * off[other] > 0) & as_much & (np.abs(z[other]) > SURELY)
    return agree


def contradicted(log: Log, left: Residuals, found: np.ndarray) -> dict[int, int]:
    """Weighings found mistaken that are so only beside another: the pair of them, either way, as row: other row."""
    beside: dict[int, int] = {}
    for at in map(int, np.flatnonzero(found[:-1] & found[1:])):
        if log.of[at] == log.of[at + 1] and left.off[at] * left.off[at + 1] < 0:
            beside |= {at: at + 1, at + 1: at}
    return beside


def swaps(log: Log, left: Residuals, scatter: Scatter) -> list[tuple[int, int]]:
    """Pairs of weighings of one morning that fit far better exchanged, as rows."""
    off, sd = left.off, left.sd
    suspect = np.flatnonzero((log.morning >= 0) & (np.abs(off / sd) > APART))
    mornings: dict[int, list[int]] = {}
    for at in suspect:
        mornings.setdefault(int(log.morning[at]), []).append(int(at))
    of, found = log.of, []
    weighed = np.bincount(log.morning[log.morning >= 0] - log.morning.min(initial=0))
    for morning, some in mornings.items():
        # Among many chicks two that would fit each other are found by chance.
        likelier = LIKELIER + np.log(weighed[morning - log.morning.min(initial=0)])
        gains = [
            (_gain(log, off, sd, scatter, a, b), a, b)
            for a, b in combinations(some, 2)
            if off[a] * off[b] < 0 and _may_be_mates(log, of[a], of[b])
        ]
        taken: set[int] = set()
        for gain, a, b in sorted(gains, reverse=True):
            if gain > likelier and not taken & {a, b}:
                found.append((a, b))
                taken |= {a, b}
    return found


def _may_be_mates(log: Log, a: int, b: int) -> bool:
    known = log.brood[a] >= 0 and log.brood[b] >= 0
    return bool(a != b and (log.brood[a] == log.brood[b] if known else True))


def _gain(log: Log, off: Array, sd: Array, scatter: Scatter, a: int, b: int) -> float:
    """How much likelier (ln) two weights are when they are exchanged."""
    apart = log.log_mass[b] - log.log_mass[a]
    z = np.array([off[a] / sd[a], off[b] / sd[b], (off[a] + apart) / sd[a], (off[b] - apart) / sd[b]])
    if not (abs(z[2]) < abs(z[0]) / 2 and abs(z[3]) < abs(z[1]) / 2):
        return 0.0  # each must come nearer by itself
    likely = scatter.log_density(z)
    return float(likely[2] + likely[3] - likely[0] - likely[1])
