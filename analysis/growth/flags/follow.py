"""Each chick as it was known after each of its weighings, and what the next one was then expected to show."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.flags.log import Log
from analysis.growth.flags.population import Population, news
from analysis.growth.flags.settle import Prior, Table, invert, settle, variance_along

# A chick's weighings are read so many at a time; what came before them is what is known of it beforehand, so that
# the cost is linear in the weighings.
AT_ONCE = 24
COLUMNS = 1500


@dataclass(frozen=True)
class Followed:
    """What was known before and after each weighing, from the chick's own weighings up to then and its kind.

    Parameters
    ----------
    theta, covariance : (3, weighings), (3, 3, weighings), after the weighing
    before, unsure : the same before it
    expected, sd : (weighings,), ln mass expected of the weighing, and how far it may be off
    off : (weighings,), what was weighed less what was expected
    """

    theta: Array
    covariance: Array
    before: Array
    unsure: Array
    expected: Array
    sd: Array
    off: Array


def follow(log: Log, population: Population) -> Followed:
    """Follow every chick from weighing to weighing."""
    rows = log.rows
    y, scale = log.log_mass - population.shift(log), population.scatter.scale(rows.mass_g)
    carried = population.carried(log)
    says = news(carried)
    prior = population.prior(log.unsure_d)
    theta, covariance = np.empty((3, len(y))), np.empty((3, 3, len(y)))
    mean, precision = prior.mean.copy(), prior.precision.copy()
    for begin in range(0, int(rows.sizes.max(initial=0)), AT_ONCE):
        for at, each, chick in _beginnings(rows.first, rows.sizes, begin):
            table = Table(rows.age_d[at], y[at], scale[at], each * says[at])
            own = Prior(mean[:, chick], precision[..., chick])
            found = settle(population.curve, own, table, population.scatter)
            ends = at[(each > 0).sum(axis=0) - 1, np.arange(at.shape[1])]
            theta[:, ends], covariance[..., ends] = found.theta, found.covariance
        over = np.flatnonzero(rows.sizes > begin + AT_ONCE)
        end = rows.first[over] + begin + AT_ONCE - 1
        mean[:, over], precision[..., over] = theta[:, end], invert(covariance[..., end])
    before, unsure = np.roll(theta, 1, axis=-1), np.roll(covariance, 1, axis=-1)
    before[:, rows.first], unsure[..., rows.first] = prior.mean, invert(prior.precision)
    value, J = population.curve.log_mass_gradient(rows.age_d, before)
    last_off = np.roll(y, 1) - population.curve.log_mass(np.roll(rows.age_d, 1), before)
    last_off[rows.first] = 0.0
    last_off *= population.scatter.weight(last_off / np.roll(scale, 1))
    expected = value + carried * last_off
    sd = np.sqrt(variance_along(J, unsure) + (1 - carried**2) * scale**2)
    return Followed(theta, covariance, before, unsure, expected, sd, y - expected)


def _beginnings(first: np.ndarray, sizes: np.ndarray, begin: int) -> Iterator[tuple[np.ndarray, Array, np.ndarray]]:
    """The weighings of a stretch, up to each one of them: rows, which are real, and whose; the short ones first."""
    chicks = np.flatnonzero(sizes > begin)
    here = np.minimum(sizes[chicks] - begin, AT_ONCE)
    chick = np.repeat(chicks, here)
    length = 1 + np.arange(len(chick)) - np.repeat(np.cumsum(here) - here, here)
    order = np.argsort(length, kind="stable")
    for some in np.split(order, range(COLUMNS, len(order), COLUMNS)):
        most = int(length[some].max())
        down = np.arange(most)[:, None]
        at = first[chick[some]] + begin + np.minimum(down, length[some] - 1)
        yield at, (down < length[some]).astype(float), chick[some]
