"""Weighings that look mistaken: a weight that a chick cannot have had, its nest-mate's, or one of a scale that was off.

Such a scale moves every chick up, or down, by the same weight, and on that morning alone.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from analysis.growth.as_arrays import Log
from analysis.growth.curves import Array
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
# Chicks on the scale that morning, the share of them that must agree, and how much likelier the morning must be
# (ln) with one amount taken off all than without (practice, ours).
LEAST_CHICKS, AGREED, MORNING_LIKELIER = 4, 0.6, 10.0
# A morning beside it, no further away than this, on which the same chicks are off the same way by this share of it,
# says that it is the chicks and not the scale: a brood that stops growing is down every day.
BESIDE_D, GOES_ON = 3, 0.4


def mistaken(z: Array, off: Array, scatter: Scatter) -> np.ndarray:
    """Whether weighings z scales and `off` (ln) away from what was expected look mistaken."""
    from scipy.special import stdtrit

    far = -stdtrit(scatter.tails, SELDOM / 2)  # scales off a good weighing is as seldom
    return np.asarray((np.abs(z) > far) & (np.abs(np.expm1(off)) > LEAST_OFF))


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
    other, beside = log.beside(step, NEAR_D)
    as_much = np.abs(off[other]) > BORNE_OUT * np.abs(off)
    return np.asarray(beside & (off * off[other] > 0) & as_much & (np.abs(z[other]) > SURELY))


def contradicted(log: Log, left: Residuals, found: np.ndarray) -> dict[int, int]:
    """Weighings found mistaken that are so only beside another: the pair of them, either way, as row: other row."""
    beside: dict[int, int] = {}
    for at in map(int, np.flatnonzero(found[:-1] & found[1:])):
        if log.rows.of[at] == log.rows.of[at + 1] and left.off[at] * left.off[at + 1] < 0:
            beside |= {at: at + 1, at + 1: at}
    return beside


def swaps(log: Log, left: Residuals, scatter: Scatter) -> list[tuple[int, int]]:
    """Pairs of weighings of one morning that fit far better exchanged, as rows."""
    off, sd = left.off, left.sd
    suspect = np.flatnonzero((log.morning >= 0) & (np.abs(off / sd) > APART))
    mornings: dict[int, list[int]] = {}
    for at in suspect:
        mornings.setdefault(int(log.morning[at]), []).append(int(at))
    of, brood, found, first_day = log.rows.of, log.brood[log.rows.of], [], log.morning.min(initial=0)
    weighed = np.bincount(log.morning[log.morning >= 0] - first_day)
    for morning, some in mornings.items():
        # Among many chicks two that would fit each other are found by chance.
        likelier = LIKELIER + np.log(weighed[morning - first_day])
        gains = [
            (_gain(log, off, sd, scatter, a, b), a, b)
            for a, b in combinations(some, 2)
            if off[a] * off[b] < 0 and of[a] != of[b] and (brood[a] == brood[b] or min(brood[a], brood[b]) < 0)
        ]
        taken: set[int] = set()
        for gain, a, b in sorted(gains, reverse=True):
            if gain > likelier and not taken & {a, b}:
                found.append((a, b))
                taken |= {a, b}
    return found


def _gain(log: Log, off: Array, sd: Array, scatter: Scatter, a: int, b: int) -> float:
    """How much likelier (ln) two weights are when they are exchanged."""
    apart = log.log_mass[b] - log.log_mass[a]
    z = np.array([off[a] / sd[a], off[b] / sd[b], (off[a] + apart) / sd[a], (off[b] - apart) / sd[b]])
    if not (abs(z[2]) < abs(z[0]) / 2 and abs(z[3]) < abs(z[1]) / 2):
        return 0.0  # each must come nearer by itself
    likely = scatter.log_density(z)
    return float(likely[2] + likely[3] - likely[0] - likely[1])


@dataclass(frozen=True)
class Morning:
    """A morning on which the scale was off, or may have been.

    It is sure where it can be nothing else: on a newest morning all low may be a failed feed or a cold brooder.
    """

    day: int  # day number
    gram: float  # how far off
    chicks: int  # how many were weighed
    sure: bool = True


def mornings_off(frame: pd.DataFrame, scatter: Scatter, *, live: bool) -> list[Morning]:
    """Find the mornings on which the scale was off among all weighings, a row each.

    frame : day (its number; -1 where it is not known); chick and brood, numbers of the chick and of its clutch (a brood
        of -1 is one of its own); mass_g, as weighed; off, ln mass less what was expected; sd, the scale of that
    live : as seen on the morning itself, the ones after it not known
    """
    # One weighing a chick and morning: a chick weighed four times is one chick.
    frame = frame[(frame["day"] >= 0) & np.isfinite(frame["off"])].drop_duplicates(["day", "chick"])
    frame["gram"] = -frame["mass_g"] * np.expm1(-frame["off"])
    mornings = {int(number): frame.iloc[at] for number, at in frame.groupby("day").indices.items() if len(at) > 1}
    found = []
    for number, rows in mornings.items():
        gram = _amount(rows, scatter) if len(rows) >= LEAST_CHICKS else None
        if gram is not None:
            before = _goes_on(mornings, number, rows["chick"], gram, range(-1, -BESIDE_D - 1, -1))
            after = None if live else _goes_on(mornings, number, rows["chick"], gram, range(1, BESIDE_D + 1))
            several_broods = (rows["brood"] < 0).any() or (rows["brood"] != rows["brood"].iloc[0]).any()
            if not before and not after and (gram > 0 or several_broods):
                found.append(Morning(number, gram, len(rows), sure=gram > 0 or after is not None))
    return found


def _amount(rows: pd.DataFrame, scatter: Scatter) -> float | None:
    """The one amount, in gram, that all of a morning are off by; None where none makes it likelier by enough."""
    mass_g, off, sd, gram = (rows[name].to_numpy(float) for name in ("mass_g", "off", "sd", "gram"))
    # The middle amount, each chick's counting as much as its weight is sure in gram.
    order = np.argsort(gram)
    trust = np.cumsum(1 / (mass_g * sd)[order])
    one = float(gram[order][np.searchsorted(trust, trust[-1] / 2)])
    without = off + np.log(np.maximum(1 - one / mass_g, 0.01))
    better = scatter.log_density(without / sd) - scatter.log_density(off / sd)
    same_way = np.mean((np.sign(gram) == np.sign(one)) & (better > 0))
    return one if better.sum() > MORNING_LIKELIER and same_way >= AGREED else None


def _goes_on(mornings: dict[int, pd.DataFrame], day: int, chicks: pd.Series, gram: float, steps: range) -> bool | None:
    """Whether the same chicks are off the same way on the nearest morning in that direction; None without one."""
    for step in steps:
        rows = mornings.get(day + step)
        if rows is not None and 2 * (same := rows["chick"].isin(chicks)).sum() >= len(chicks):
            return bool(rows.loc[same, "gram"].median() / gram > GOES_ON)
    return None
