"""Centiles over chicks: how heavy the lighter and the heavier ones are at an age, and how well that is known.

For each draw of the standard deviations, the weight that a share of all chicks stays below is found where it is
likeliest: of all chicks of that weight at that age one is nearest to the typical chick, and its distance says the
share (Hasofer & Lind 1974, *J. Eng. Mech. Div. ASCE* 100:111, from memory: the first-order method of structural
reliability). It is exact where one parameter differs, and does not depend on whether weight or its logarithm is
looked at. Chicks beside that one, as heavy by another curve, bend the line on which all are of one weight: how much
that moves the centile is worked out once, at the middle of the draws (the second-order method). How unsure the
typical chick is, and the standard deviations are, makes the interval.
"""

from collections.abc import Sequence

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.integrate import Posterior
from analysis.growth.mixed.model import Model

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
ENDS = (0.025, 0.975)
# Moves to the nearest chick of a weight, and to an end of an interval: more change nothing that is seen.
MOVES, STEPS = 2, 4
# Slopes of a secant that are believed.
FLATTEST_STEEPEST = (0.2, 5.0)
# Ln mass below this is a weight of zero; it keeps averages over draws finite.
LEAST = -700.0


def centiles_of(
    model: Model, posterior: Posterior, age_d: Array, shares: Sequence[float]
) -> tuple[Array, Array, Array]:
    """Centiles on the scale of the scatter, and the ends of their 95 % intervals, (ages, shares) each."""
    from scipy.special import ndtri

    z = ndtri(np.asarray(shares, float))
    weights, mean, between = posterior.weights, posterior.population.mean[..., 0], posterior.between
    value, gradient, _ = _nearest(model, mean, between, age_d, z)
    variance = np.sum(_times(posterior.population.covariance[..., 0], gradient) * gradient, axis=0)
    value = np.maximum(value + _bent(model, mean @ weights, between @ weights, age_d, z), LEAST)
    sd = np.sqrt(np.maximum(variance, 0.0))
    low, high = _ends(weights, value.reshape(len(value), -1), sd.reshape(len(sd), -1))
    shape = len(age_d), len(z)
    return np.tensordot(weights, value, 1), low.reshape(shape), high.reshape(shape)


def _nearest(model: Model, mean: Array, between: Array, age_d: Array, z: Array) -> tuple[Array, Array, Array]:
    """The curves, and their derivatives, of the chick nearest to the typical one on each centile, and that chick."""
    theta = np.broadcast_to(mean[:, :, None, None], (3, mean.shape[1], len(age_d), 1))
    value, gradient = _curves(model, age_d, theta)
    for _ in range(MOVES):
        theta = mean[:, :, None, None] + z * _towards(between, gradient)
        value, gradient = _curves(model, age_d, theta)
    return value, gradient, theta


def _towards(between: Array, gradient: Array) -> Array:
    """One standard deviation straight towards heavier chicks."""
    towards = _times(between, gradient)
    return towards / np.sqrt(np.maximum(np.sum(towards * gradient, axis=0), 1e-300))


def _bent(model: Model, mean: Array, between: Array, age_d: Array, z: Array) -> Array:
    """By how much chicks beside the nearest one move each centile, (ages, shares), for one mean and covariance."""
    value, gradient, theta = _nearest(model, mean[:, None], between[..., None], age_d, z)
    along = _towards(between[..., None], gradient)
    beside = between - np.moveaxis(along * along[:, None], (0, 1), (-2, -1))
    size, axes = np.linalg.eigh(beside)
    steps = np.moveaxis(axes * np.sqrt(np.maximum(size, 0.0))[..., None, :], (-2, -1), (1, 0))
    # The least axis is the one that was taken away.
    moved = [_curves(model, age_d, theta + sign * step)[0] - value for step in steps[1:] for sign in (1, -1)]
    bent = np.sum(moved, axis=0)[0] / 2
    return np.where(np.isfinite(bent), bent, 0.0)


def _curves(model: Model, age_d: Array, theta: Array) -> tuple[Array, Array]:
    """The curves and their derivatives for theta of (3, draws, ages, shares)."""
    ages = np.broadcast_to(age_d[:, None], theta.shape[1:]).ravel()
    with np.errstate(over="ignore", invalid="ignore"):
        value, gradient = model.value(ages, theta.reshape(3, -1))
    return value.reshape(theta.shape[1:]), gradient.reshape(theta.shape)


def _times(matrix: Array, vector: Array) -> Array:
    """A matrix of each draw, (3, 3, draws), times vectors of (3, draws, ages, shares)."""
    return sum(matrix[:, i, :, None, None] * vector[i] for i in range(3))


def _ends(weights: Array, mean: Array, sd: Array) -> list[Array]:
    """Ends of the interval of a mixture of normals, (units,) each.

    On the scale of normal deviates the share below is nearly a straight line, so a few secants from the interval of
    one normal distribution reach it.
    """
    from scipy.special import ndtr, ndtri

    centre = weights @ mean
    whole = np.sqrt(np.maximum(weights @ (sd**2 + (mean - centre) ** 2), 1e-300))
    sd, found = np.maximum(sd, 1e-9 * whole), []
    for z in ndtri(ENDS):
        end, steep, before = z * np.ones_like(whole), np.ones_like(whole), None
        for _ in range(STEPS):
            missed = z - ndtri(np.clip(weights @ ndtr((centre + end * whole - mean) / sd), 1e-9, 1 - 1e-9))
            if before is not None:
                moved = before[0] - end
                rise = (missed - before[1]) / np.where(moved == 0, 1.0, moved)
                steep = np.where(np.abs(moved) > 1e-9, np.clip(rise, *FLATTEST_STEEPEST), steep)
            before = end, missed
            end = end + np.clip(missed / steep, -1, 1)
        found.append(centre + end * whole)
    return found
