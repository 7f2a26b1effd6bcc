"""Mornings on which the scale was off: every chick up, or down, by the same weight, and on that morning alone."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.flags.scatter import Scatter

# Chicks on the scale that morning, the share of them that must agree, and how much likelier the morning must be
# (ln) with one amount taken off all than without (practice, ours).
FEWEST, AGREED, LIKELIER = 4, 0.6, 10.0
# A morning beside it, no further away than this, on which the same chicks are off the same way by this share of it,
# says that it is the chicks and not the scale: a brood that stops growing is down every day.
BESIDE_D, BORNE_OUT = 3, 0.4


@dataclass(frozen=True)
class Morning:
    """A morning on which the scale was off, or may have been.

    Parameters
    ----------
    day : day number
    gram : how far off
    chicks : how many were weighed
    sure : whether it can be nothing else; a newest morning on which all are low may be a failed feed or a cold brooder
    """

    day: int
    gram: float
    chicks: int
    sure: bool = True


def mornings_off(
    day: np.ndarray,
    chick: np.ndarray,
    brood: np.ndarray,
    mass_g: Array,
    off: Array,
    sd: Array,
    *,
    scatter: Scatter,
    live: bool = False,
) -> list[Morning]:
    """Find them among all weighings.

    Parameters
    ----------
    day : (weighings,), day number; -1 where it is not known
    chick, brood : (weighings,), numbers of the chick and of its clutch; a brood of -1 is one of its own
    mass_g, off, sd : (weighings,), as weighed, ln mass less what was expected, and the scale of that
    live : as seen on the morning itself, the ones after it not known

    Examples
    --------
    >>> day, chick = np.repeat([1, 2, 3], 4), np.tile(np.arange(4), 3)
    >>> mass_g = np.tile([40.0, 60, 80, 90], 3) + np.repeat([0.0, 7, 0], 4)
    >>> off = np.log(mass_g / np.tile([40.0, 60, 80, 90], 3))
    >>> found = mornings_off(day, chick, chick // 2, mass_g, off, np.full(12, 0.03), scatter=Scatter())
    >>> [(morning.day, round(morning.gram), morning.chicks, morning.sure) for morning in found]
    [(2, 7, 4, True)]
    """
    frame = pd.DataFrame({"day": day, "chick": chick, "brood": brood, "mass_g": mass_g, "off": off, "sd": sd})
    # One weighing a chick and morning: a chick weighed four times is one chick.
    frame = frame[(frame["day"] >= 0) & np.isfinite(frame["off"])].drop_duplicates(["day", "chick"])
    frame["gram"] = -frame["mass_g"] * np.expm1(-frame["off"])
    mornings = {int(number): frame.iloc[at] for number, at in frame.groupby("day").indices.items() if len(at) > 1}
    found = []
    for number, rows in mornings.items():
        gram = _amount(rows, scatter) if len(rows) >= FEWEST else None
        if gram is not None:
            before = _borne_out(mornings, number, rows["chick"], gram, range(-1, -BESIDE_D - 1, -1))
            after = None if live else _borne_out(mornings, number, rows["chick"], gram, range(1, BESIDE_D + 1))
            if not before and not after and (gram > 0 or _several_broods(rows)):
                found.append(Morning(number, gram, len(rows), sure=gram > 0 or after is not None))
    return found


def _amount(rows: pd.DataFrame, scatter: Scatter) -> float | None:
    """The one amount, in gram, that all of a morning are off by; None where none makes it likelier by enough."""
    mass_g, off, sd, gram = (rows[name].to_numpy(float) for name in ("mass_g", "off", "sd", "gram"))
    one = _middle(gram, mass_g * sd)
    without = off + np.log(np.maximum(1 - one / mass_g, 0.01))
    better = scatter.log_density(without / sd) - scatter.log_density(off / sd)
    same_way = np.mean((np.sign(gram) == np.sign(one)) & (better > 0))
    return one if better.sum() > LIKELIER and same_way >= AGREED else None


def _middle(gram: Array, sd_gram: Array) -> float:
    """The middle amount, each chick's counting as much as its weight is sure in gram."""
    order = np.argsort(gram)
    trust = np.cumsum(1 / sd_gram[order])
    return float(gram[order][np.searchsorted(trust, trust[-1] / 2)])


def _borne_out(
    mornings: dict[int, pd.DataFrame], day: int, chicks: pd.Series, gram: float, steps: range
) -> bool | None:
    """Whether the same chicks are off the same way on the nearest morning in that direction; None without one."""
    for step in steps:
        rows = mornings.get(day + step)
        if rows is not None and 2 * (same := rows["chick"].isin(chicks)).sum() >= len(chicks):
            return bool(rows.loc[same, "gram"].median() / gram > BORNE_OUT)
    return None


def _several_broods(rows: pd.DataFrame) -> bool:
    return bool((rows["brood"] < 0).any() or (rows["brood"] != rows["brood"].iloc[0]).any())
