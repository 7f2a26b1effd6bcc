"""Mornings on which the scale was off: every chick up, or down, by the same weight, and on that morning alone."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.flags.population import WORTH, Population
from analysis.growth.flags.settle import Scatter, invert

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


# One healthy chick in a hundred is called off the curve: half of them light, half unusual (the level is ours).
LEVEL = 0.01
# A direction of which the weighings tell less than this share is not judged.
LEAST_TOLD = 0.3


@dataclass(frozen=True)
class Departure:
    """How far chicks depart from the others of their kind.

    Parameters
    ----------
    light : (chicks,), ln mass below the others' typical chick, over the ages asked; negative where lighter
    light_p : (chicks,), how often a healthy chick is as light
    shape_p : (chicks,), how often one departs as far in any way
    """

    light: Array
    light_p: Array
    shape_p: Array


def departure(population: Population, theta: Array, covariance: Array, slope: Array, among: np.ndarray) -> Departure:
    """Hold chicks against the others.

    Parameters
    ----------
    theta, covariance : (3, chicks), (3, 3, chicks), each chick's curve with its kind as prior
    slope : (3, chicks), derivatives of the ln mass that is judged by ln A, ln K and ti
    among : (chicks,), whether a chick is one of those the population was learnt from
    """
    from scipy.special import stdtr

    chicks = max(population.chicks, 2)
    mean, between = _without(population, theta, covariance, among)
    usual = invert(np.repeat(population.between[:, :, None], 1, axis=2))
    told = invert(covariance) - usual
    evidence = np.einsum("ijn,jn->in", told, theta - population.mean[:, None]) + np.einsum(
        "ijn,jn->in", usual, theta - population.mean[:, None]
    )
    # The chick's own evidence about its departure from `mean`, and the departure it speaks for.
    evidence = evidence - np.einsum("ijn,jn->in", told, mean - population.mean[:, None])
    posterior = invert(told + invert(between))
    moved = np.einsum("ijn,jn->in", posterior, evidence)
    known = between - posterior
    freedom = chicks - 1 - among + WORTH / 2
    wider = 1 + 1 / (chicks - among)
    light = np.einsum("in,in->n", slope, moved)
    spread = np.sqrt(np.maximum(np.einsum("in,ijn,jn->n", slope, known, slope), 1e-12) * wider)
    light_p = stdtr(freedom, light / spread)
    return Departure(light, light_p, _shape_p(moved, between, posterior, freedom, wider))


def _without(population: Population, theta: Array, covariance: Array, among: np.ndarray) -> tuple[Array, Array]:
    """Mean and covariance of the kind without each chick that it was learnt from, (3, chicks), (3, 3, chicks)."""
    n = population.chicks
    mean = np.repeat(population.mean[:, None], theta.shape[1], axis=1)
    between = np.repeat(population.between[:, :, None], theta.shape[1], axis=2)
    if n < 2:
        return mean, between
    effect = theta - mean
    seen = np.einsum("in,jn->ijn", effect, effect) * n / (n - 1) + covariance
    less = ((n + WORTH) * between - seen) / (n - 1 + WORTH)
    # What is left stays a covariance: no direction falls below a tenth of what it was with the chick.
    less = _at_least(less, 0.1 * between)
    return np.where(among, mean - effect / (n - 1), mean), np.where(among, less, between)


def _at_least(matrix: Array, least: Array) -> Array:
    values, vectors = np.linalg.eigh(np.moveaxis(matrix, -1, 0))
    floor = np.einsum("nij,nik,nkj->nj", vectors, np.moveaxis(least, -1, 0), vectors)
    return np.moveaxis(np.einsum("nij,nj,nkj->nik", vectors, np.maximum(values, floor), vectors), 0, -1)


def _shape_p(moved: Array, between: Array, posterior: Array, freedom: Array, wider: Array) -> Array:
    """How often a chick departs as far, in the directions its weighings tell (Hotelling's T² against F)."""
    from scipy.special import fdtrc

    root = np.linalg.cholesky(np.moveaxis(between, -1, 0))
    unroot = np.linalg.inv(root)
    b = np.einsum("nij,jn->ni", unroot, moved)
    left = np.einsum("nij,jkn,nlk->nil", unroot, posterior, unroot)
    told, axes = np.linalg.eigh(np.eye(3) - left)
    along = np.einsum("nij,ni->nj", axes, b)
    judged = told > LEAST_TOLD
    far = np.sum(np.where(judged, along**2 / np.maximum(told, LEAST_TOLD), 0.0), axis=1) / wider
    p = judged.sum(axis=1)
    below = np.maximum(freedom - p + 1, 1.0)
    share = far * below / (np.maximum(p, 1) * np.maximum(freedom, 1.0))
    return np.where(p > 0, fdtrc(np.maximum(p, 1), below, share), 1.0)
