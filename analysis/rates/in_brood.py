"""Weaning by place in the brood and by its size: the last of five to hatch is harder to rear than an only chick."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.needed import need_columns, numbers_of

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# What is thought beforehand, on the logit: the level (three of four weaned, as published counts have it); a place
# later, a chick more in the brood, and how far broods differ besides (practice, ours).
_CENTRE, _WIDTHS, BROOD_SD = 1.3, np.array([1.5, 0.5, 0.3]), 1.0
FAILING = 0.05  # share of broods that fail whole, whatever their chicks
_NODES, _DRAWS, _DF, _STEP = 9, 400, 5.0, 0.05
_ENDS = (0.025, 0.975)


@dataclass(frozen=True)
class InBrood:
    """Weaning by place and size, from `weaning_in_brood`.

    `coefficients`: index place and size, mean, low, high (95 %): of the logit, a place later and a chick more. `chance`
    has, for each row that was given, how likely such a chick is weaned in a typical brood, which may fail whole.
    """

    coefficients: pd.DataFrame
    chance: pd.Series
    _theta: Array
    _weights: Array
    _middle: float

    def at(self, place: float, size: float) -> tuple[float, float, float]:
        """How likely a chick of this place in a brood of this size is weaned: mean, low, high (95 %)."""
        rate = _rates(self._theta, np.array([[1.0, place - 1, size - self._middle]]))[:, 0]
        low, high = _ends(rate, self._weights)
        return float(self._weights @ rate), low, high


def weaning_in_brood(frame: pd.DataFrame, seed: int = 0) -> InBrood | None:
    """Work out how weaning goes with the place in the brood and with its size, broods being alike within.

    ::

        worked_i ~ p_i,  logit(p_i) = mu + place · (place_i - 1) + size · (size_i - middle) + brood,  brood ~ N(0, sd²)
        a brood fails whole with 0.05, whatever its chicks; mu ~ N(1.3, 1.5²), place ~ N(0, 0.5²), size ~ N(0, 0.3²),
        sd ~ HalfNormal(1)

    frame : brood (a label), place (1 = hatched first), size (chicks hatched), worked and tried (of a chick that ended 1
        or 0, and 1; of one still being reared both are what it has come through, see `come_through`). A ValueError for
        counts that cannot be. None where no chick says anything.

    The brood is summed over nodes; the rest is drawn from a Student-t about the mode and weighed by the exact posterior
    (Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., chapter 10; from memory).

    Examples
    --------
    >>> broods = {"brood": [1, 1, 1, 2, 2, 2, 3, 3, 3], "place": [1, 2, 3] * 3, "size": 3, "tried": 1}
    >>> told = weaning_in_brood(pd.DataFrame(broods | {"worked": [1, 1, 0] * 3}))
    >>> bool(told.at(1, 3)[0] > 0.65 > 0.6 > told.at(3, 3)[0])
    True
    """
    need_columns("weaning_in_brood", frame, ("brood", "place", "size", "worked", "tried"))
    worked, tried = (numbers_of("weaning_in_brood", frame[name]) for name in ("worked", "tried"))
    if not ((worked >= 0) & (worked <= tried)).all():
        raise ValueError("counts need 0 <= worked <= tried")
    if not tried.any():
        return None
    order = np.argsort(pd.factorize(frame["brood"])[0], kind="stable")
    brood = pd.factorize(frame["brood"])[0][order]
    place, size = (numbers_of("weaning_in_brood", frame[name]) for name in ("place", "size"))
    x = np.column_stack([np.ones(len(frame)), place - 1, size - size.mean()])
    m = _Model(x[order], worked[order], tried[order], np.flatnonzero(np.diff(brood, prepend=-1)))
    theta, weights = _draws(m, seed)
    rows = [(weights @ theta[:, at], *_ends(theta[:, at], weights)) for at in (1, 2)]
    coefficients = pd.DataFrame(rows, index=["place", "size"], columns=["mean", "low", "high"])
    chance = pd.Series(weights @ _rates(theta, x), index=frame.index)
    return InBrood(coefficients, chance, theta, weights, float(size.mean()))


@dataclass(frozen=True)
class _Model:
    """Chicks in the order of their broods: x (chicks, 3), counts (chicks,), and where each brood begins."""

    x: Array
    worked: Array
    tried: Array
    begins: Index


def _nodes() -> tuple[Array, Array]:
    z, w = np.polynomial.hermite_e.hermegauss(_NODES)
    return z, w / w.sum()


def _eta(theta: Array, x: Array) -> Array:
    """The logit of each chick at each node of its brood: (draws, chicks, nodes)."""
    return np.asarray((theta[:, :3] @ x.T)[:, :, None] + np.exp(theta[:, 3])[:, None, None] * _nodes()[0])


def _rates(theta: Array, x: Array) -> Array:
    """The rate of each chick in a brood of those that may come, some of which fail whole: (draws, chicks)."""
    from scipy.special import expit

    return np.asarray((1 - FAILING) * (expit(_eta(theta, x)) @ _nodes()[1]))


def _log_posterior(m: _Model, theta: Array) -> Array:
    """Of each row of theta (mu, place, size, ln sd)."""
    eta, log_w = _eta(theta, m.x), np.log(_nodes()[1])
    log = m.worked[:, None] * eta - m.tried[:, None] * np.logaddexp(0, eta)
    own = np.logaddexp.reduce(np.add.reduceat(log, m.begins, axis=1) + log_w, axis=2)
    none = np.add.reduceat(m.worked, m.begins) == 0
    failed = np.where(none & (np.add.reduceat(m.tried, m.begins) > 0), np.log(FAILING), -np.inf)
    like = np.logaddexp(np.log1p(-FAILING) + own, failed).sum(axis=1)
    away = (theta[:, :3] - np.array([_CENTRE, 0.0, 0.0])) / _WIDTHS
    return np.asarray(like - 0.5 * (away**2).sum(axis=1) + theta[:, 3] - 0.5 * (np.exp(theta[:, 3]) / BROOD_SD) ** 2)


def _draws(m: _Model, seed: int) -> tuple[Array, Array]:
    """Draws of theta about its mode, (draws, 4), and their weights."""
    from scipy.optimize import minimize

    steps = _STEP * np.eye(4)

    def downhill(at: Array) -> tuple[float, Array]:
        values = _log_posterior(m, np.vstack([at, at + steps, at - steps]))
        return -float(values[0]), (values[5:] - values[1:5]) / (2 * _STEP)

    mode = minimize(downhill, np.array([_CENTRE, 0.0, 0.0, np.log(0.5)]), jac=True, method="L-BFGS-B").x
    sums, apart = ((steps[:, None] + sign * steps).reshape(-1, 4) for sign in (1, -1))
    same, other = (_log_posterior(m, mode + by) + _log_posterior(m, mode - by) for by in (sums, apart))
    curve = (other - same).reshape(4, 4) / (4 * _STEP**2)
    value, vector = np.linalg.eigh((curve + curve.T) / 2)
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((_DRAWS, 4)) / np.sqrt(rng.chisquare(_DF, (_DRAWS, 1)) / _DF)
    theta = mode + z @ (vector / np.sqrt(np.maximum(value, 0.3))).T  # flat where nothing tells: no wider than 2 sds
    log_w = np.concatenate([_log_posterior(m, part) for part in np.array_split(theta, 8)])
    log_w += 0.5 * (_DF + 4) * np.log1p((z**2).sum(axis=1) / _DF)
    weights = np.exp(log_w - log_w.max())
    return theta, weights / weights.sum()


def _ends(values: Array, weights: Array) -> tuple[float, float]:
    order = np.argsort(values)
    low, high = np.interp(_ENDS, np.cumsum(weights[order]) - weights[order] / 2, values[order])
    return float(low), float(high)
