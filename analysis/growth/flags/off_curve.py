"""Chicks off the curve of their kind: light for their age, or of an unusual course; each held against the others.

A chick that helps to say what is usual hides itself, so the typical curve, and how chicks differ, are taken without
it. Then its curve, as far as its weighings tell it, departs from the others' by an amount whose scatter is known.
"""

from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.population import WORTH, Population
from analysis.growth.flags.settle import invert

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
