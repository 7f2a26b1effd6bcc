"""Weights off by a fixed factor, seen without any model: by what stands before and after in the same chick.

A chick gains some per cent a day. A weight that leaps by about ten or about 28 and leaps back is no growth
but a decimal point, or ounces among grams.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.logs.numbers import GRAMS

TEN = math.log(10)
OUNCE = math.log(GRAMS["oz"])
_LONGEST_GAP_D = 3.0
_WIDE = 0.25  # how far from the exact factor, in ln; the two factors lie 1.04 apart
_GAIN = 0.2  # early gain a day, about 20 % (Wragg, a hand-rearing account)


def leaps(days: Sequence[float], mass_g: Sequence[float]) -> list[float]:
    """Return for each weighing of one chick the factor (as ln) by which it is off; 0 where it is not.

    Weighings more than three days apart say nothing about each other. Where half stand on either side of a
    leap, nobody can tell which half is wrong, and none is called off.

    Examples
    --------
    >>> [round(x, 1) for x in leaps([1, 2, 3, 4], [10, 11, 125, 14])]
    [0.0, 0.0, 2.3, 0.0]
    """
    level, levels, runs = 0.0, [0.0], [0]
    for i in range(1, len(days)):
        gap = days[i] - days[i - 1]
        if gap > _LONGEST_GAP_D:
            level = 0.0
            runs.append(i)
        else:
            level = round(level + _leap(math.log(mass_g[i] / mass_g[i - 1]), gap), 6) + 0.0
        levels.append(level)
    off: list[float] = []
    for start, end in zip(runs, [*runs[1:], len(days)], strict=True):
        off += _off(levels[start:end])
    return off


def _leap(step: float, gap: float) -> float:
    for factor in (TEN, OUNCE):
        if factor - _WIDE <= step <= factor + _WIDE + _GAIN * gap:
            return factor
        if -factor - _WIDE <= step <= -factor + _WIDE + _GAIN * gap:
            return -factor
    return 0.0


def _off(levels: list[float]) -> list[float]:
    ranked = Counter(levels).most_common(2)
    if len(ranked) > 1 and ranked[0][1] == ranked[1][1]:
        return [0.0] * len(levels)
    return [level - ranked[0][0] for level in levels]


def find_leaps(weights: pd.DataFrame) -> dict[int, str]:
    """Return the weighings that are off: index label → "ten-fold" or "another-unit".

    Parameters
    ----------
    weights
        One row a weighing: chick, weighed_at, mass_g, together; positive weights.

    Returns
    -------
    dict
        A single weighing 28 times off is called another unit only where at least half of the chicks of
        that morning are: one person read one scale.
    """
    alone = weights[weights["together"] == 1]
    days = (alone["weighed_at"].to_numpy() - np.datetime64(0, "us")) / np.timedelta64(86_400_000_000, "us")
    chicks: dict[str, list[tuple[int, float, float]]] = defaultdict(list)
    names, labels, masses = alone["chick"].to_numpy(), alone.index.to_numpy(), alone["mass_g"].to_numpy()
    for at in _that_leap(alone, days):
        chicks[names[at]].append((labels[at], days[at], masses[at]))
    found: dict[int, str] = {}
    ounces: dict[int, list[int]] = defaultdict(list)
    for weighings in chicks.values():
        labels, when, mass_g = zip(*weighings, strict=True)
        for label, day, off in zip(labels, when, leaps(when, mass_g), strict=True):
            if abs(abs(off) - TEN) < 1e-3:
                found[label] = "ten-fold"
            elif abs(abs(off) - OUNCE) < 1e-3:
                ounces[int(day)].append(label)
    for morning, off_labels in ounces.items():
        weighed = int((np.floor(days) == morning).sum())
        if 2 * len(off_labels) >= weighed:
            found |= dict.fromkeys(off_labels, "another-unit")
    return found


def _that_leap(alone: pd.DataFrame, days: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return where the weighings of chicks stand that leap at all, in the order of time."""
    codes, _ = pd.factorize(alone["chick"])
    order = np.lexsort((days, codes))
    log = np.log(alone["mass_g"].to_numpy(dtype=float)[order])
    same_chick = codes[order][1:] == codes[order][:-1]
    leap = same_chick & (np.abs(np.diff(log)) >= TEN - _WIDE)
    leapers = np.zeros(codes.max(initial=-1) + 1, dtype=bool)
    leapers[codes[order][1:][leap]] = True
    by_time = np.argsort(days, kind="stable")
    leaping: NDArray[np.intp] = by_time[leapers[codes[by_time]]]
    return leaping
