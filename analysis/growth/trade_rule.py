"""The trade's own rule for a chick's weight, in the three ways in which its words can be read.

"No gain two days running, or any drop, in a chick not yet near fledging" calls the veterinarian (Duerr & Gage,
*Hand-Rearing Birds*, 2nd ed., 2020, p. 617; p. 599 says more than two days), from day 3 on, since no gain in the
first days is normal (Hagen Avicultural Research Institute). It stands beside our own flags, and is no flag of ours.
"""

import numpy as np
import pandas as pd

from analysis.growth.as_arrays import Weighings, weighings_of

FALLEN = 0.03  # a smaller fall is within what a kitchen scale and a morning's crop do (practice)
_WINDOW = 3  # weighings in the running median, so that a single slip is no peak
SAME = 0.015  # a change smaller than this share is none (a kitchen scale's step)
READINGS = ("any drop", "no gain twice running", "no gain over two days")
FROM_D = 3.0  # the first day on which the rule is read
TWO_D = 2 - 1e-6  # ages worked out from clock times miss two days by a rounding


def up_to_peak(frame: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Keep each chick's weighings up to its peak, and say where the peak was.

    The peak is the highest running median of three weighings. Where the last weights are not at least 3 %
    below it, the chick has not fallen, and all its weighings are kept.

    Returns the rows of `frame` (chick, age_d, mass_g and any others) up to the peaks, in its order, and the peaks, one
    row a chick, by name: chick, peak_age_d, peak_g (the running median there), last_g (the same at the end), fall
    (share of the peak lost by then; 0 where there is none), after (weighings after the peak).
    """
    keep = pd.Series(True, index=frame.index)
    rows = []
    for chick, weights in frame.groupby("chick", sort=True):
        weights = weights.sort_values("age_d", kind="stable")
        smooth = weights["mass_g"].rolling(min(_WINDOW, len(weights)), center=True).median().bfill().ffill().to_numpy()
        top = int(np.argmax(smooth))
        fell = smooth[-1] < (1 - FALLEN) * smooth[top]
        if fell:
            keep[weights.index[top + 1 :]] = False
        fall, after = (1 - smooth[-1] / smooth[top], len(weights) - 1 - top) if fell else (0.0, 0)
        rows.append((chick, weights["age_d"].iloc[top], smooth[top], smooth[-1], fall, after))
    columns = ["chick", "peak_age_d", "peak_g", "last_g", "fall", "after"]
    return frame[keep], pd.DataFrame(rows, columns=columns)


def trade_rule(frame: pd.DataFrame, until: pd.Series | None = None) -> pd.DataFrame:
    """When the trade's rule first calls, and how often, in its three readings.

    A weighing is compared with others that were made, so a day without a weighing calls nothing by itself:
    "any drop" is a weight below the one before; "no gain twice running" two weighings in a row, neither above the
    one before it; "no gain over two days" a weight not above the last one that is at least two days older.
    A call that goes on from weighing to weighing counts once. The rule is read from day 3 on, of one weighing a day,
    crop empty; `until`, by chick, is the last age in days at which it is read, such as that of its peak.

    Returns three rows for each chick, by name: chick; reading; age_d, age at the first call, NaN where there is none;
    alarms, how often it called. ValueError as from `weighings_of`.
    """
    rows = weighings_of(frame)
    calls = _calls(rows, until)
    parts = []
    for reading in READINGS:
        starts = rows.of[calls[reading]]
        first = pd.Series(rows.age_d[calls[reading]]).groupby(starts).first()
        number = np.bincount(starts, minlength=len(rows.sizes))
        age_d = first.reindex(range(len(rows.sizes))).to_numpy(float)
        parts.append(pd.DataFrame({"chick": rows.chicks, "reading": reading, "age_d": age_d, "alarms": number}))
    return pd.concat(parts).sort_index(kind="stable").reset_index(drop=True)


def trade_alarms(frame: pd.DataFrame, until: pd.Series | None = None) -> pd.DataFrame:
    """Every weighing at which a reading of the trade's rule begins to call: chick, reading, age_d, sorted by these.

    Arguments as in `trade_rule`.
    """
    rows = weighings_of(frame)
    calls = _calls(rows, until).items()
    parts = [pd.DataFrame({"number": rows.of[at], "reading": name, "age_d": rows.age_d[at]}) for name, at in calls]
    table = pd.concat(parts).sort_values("number", kind="stable", ignore_index=True)
    table.insert(0, "chick", rows.chicks[table.pop("number").to_numpy(int)])
    return table


def rule_today(frame: pd.DataFrame, until: pd.Series | None = None) -> pd.DataFrame:
    """Whom the trade's rule calls a veterinarian for by the last weighing: any drop, or no gain twice running.

    A drop within 1.5 % of the weight before is none: a kitchen scale's step (practice). Arguments as in `trade_rule`.
    Returns a row for each chick called for, by name: chick, mass_g (its last weight), before_g (the one before).

    >>> frame = pd.DataFrame({"chick": ["K1"] * 3 + ["K2"] * 3, "age_d": [4, 5, 6] * 2})
    >>> rule_today(frame.assign(mass_g=[9, 9, 9, 9, 10, 9.9]))["chick"].tolist()
    ['K1']
    """
    rows = weighings_of(frame)
    holding = _holding(rows, until, same=SAME)
    last = np.asarray(rows.last, dtype=int)
    called = last[(holding["any drop"] | holding["no gain twice running"])[last]]
    chicks = rows.chicks[rows.of[called]]
    return pd.DataFrame({"chick": chicks, "mass_g": rows.mass_g[called], "before_g": rows.mass_g[called - 1]})


def _calls(rows: Weighings, until: pd.Series | None) -> dict[str, np.ndarray]:
    """For each reading, (weighings,) whether it begins to call there."""
    # A chick's first weighing never calls, so chicks part by themselves.
    return {name: holds & ~np.append(False, holds)[:-1] for name, holds in _holding(rows, until).items()}


def _holding(rows: Weighings, until: pd.Series | None, same: float = 0.0) -> dict[str, np.ndarray]:
    """For each reading, (weighings,) whether it holds there; a drop within the share `same` is none."""
    before = np.arange(len(rows.age_d)) - 1
    no_gain = _not_above(rows, before)
    twice = no_gain & np.append(False, no_gain[:-1])[: len(no_gain)]
    read = rows.age_d >= FROM_D
    if until is not None:
        read &= ~(rows.age_d > rows.each(until.reindex(rows.chicks).to_numpy(float)))
    drop = no_gain & (rows.mass_g < (1 - same) * rows.mass_g[before])
    # Chicks one after the other on one line of time, so far apart that none reaches into another's days; where none is
    # two days older, that row lies before the chick's first.
    line = rows.age_d + (np.ptp(rows.age_d) + 10 if len(rows.age_d) else 0.0) * rows.of
    holds = drop, twice, _not_above(rows, np.searchsorted(line, line - TWO_D, side="right") - 1)
    return {reading: one & read for reading, one in zip(READINGS, holds, strict=True)}


def _not_above(rows: Weighings, earlier: np.ndarray) -> np.ndarray:
    """Whether a weight is not above that in row `earlier`, where that row is the same chick's."""
    same = earlier >= rows.each(rows.first)
    return np.asarray(same & (rows.mass_g <= rows.mass_g[earlier]))
