"""How large and how heavy an egg was when it was laid, from its length and breadth. Arrays in, arrays out."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

VOLUME = 0.51  # of length x breadth squared; Hoyt 1979, Auk 96:73, read via a later paper
HOYT_G_PER_CM3 = 0.548  # fresh mass over length x breadth squared, many species; Hoyt 1979 (memory)
LEAST_EGGS = 10  # that a constant of a keeper's own takes (practice)
_MM3_IN_CM3 = 1000.0


@dataclass(frozen=True)
class OwnConstant:
    """The constant of one kind of bird, g/cm³, with the 95 % interval of its mean; n: eggs it rests on."""

    constant: float
    low: float
    high: float
    n: int


def egg_volume_cm3(length_mm: ArrayLike, breadth_mm: ArrayLike) -> NDArray[np.float64]:
    """Volume of eggs by their longest and widest, measured with callipers; NaN where one is missing or not above 0."""
    return VOLUME * _lb2_cm3(length_mm, breadth_mm)


def fresh_mass_g(
    length_mm: ArrayLike, breadth_mm: ArrayLike, *, constant: float = HOYT_G_PER_CM3
) -> NDArray[np.float64]:
    """Mass of an egg on the day it was laid: constant · length · breadth²; NaN where a measure is missing or 0.

    For an egg that was first weighed late. The general constant was 8 to 9 % off for one family of birds, a constant of
    the species itself 1 % (read): see `own_constant`. Source: Hoyt 1979, *Auk* 96:73 (memory).
    """
    return constant * _lb2_cm3(length_mm, breadth_mm)


def own_constant(eggs: pd.DataFrame) -> OwnConstant | None:
    """The constant of one kind of bird, from eggs both measured and weighed fresh; None with fewer than ten.

    The mean of fresh / (length · breadth²) over the eggs, with the 95 % interval of that mean (Student's t). A row an
    egg: length_mm, breadth_mm, fresh_g; rows with a number missing or not above 0 are left out.
    """
    from scipy.special import stdtrit

    fresh_g = eggs["fresh_g"].to_numpy(float)
    each = np.where(fresh_g > 0, fresh_g, np.nan) / _lb2_cm3(eggs["length_mm"], eggs["breadth_mm"])
    each = each[np.isfinite(each)]
    n = len(each)
    if n < LEAST_EGGS:
        return None
    mean, half = float(each.mean()), float(stdtrit(n - 1, 0.975) * each.std(ddof=1) / np.sqrt(n))
    return OwnConstant(mean, mean - half, mean + half, n)


def _lb2_cm3(length_mm: ArrayLike, breadth_mm: ArrayLike) -> NDArray[np.float64]:
    length, breadth = np.asarray(length_mm, float), np.asarray(breadth_mm, float)
    good = (length > 0) & (breadth > 0) & np.isfinite(length) & np.isfinite(breadth)
    return np.where(good, length * breadth**2 / _MM3_IN_CM3, np.nan)
