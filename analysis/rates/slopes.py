"""How the rates of some go over the seasons, all of them in one model; said of none what all of them do together."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.needed import need_columns, numbers_of

Array = NDArray[np.float64]

# What is thought beforehand, on the logit (practice, ours): the level, what a season does to all, how far levels and
# changes a season differ, and what one season does to one of them.
MU_SD, SEASON_SD, LEVEL_SD, SLOPE_SD, OWN_SD = 1.5, 0.4, 1.0, 0.5, 0.3
RHO, FAILING = 0.15, 0.1  # intraclass correlation of a clutch's eggs; share of clutches that fail whole
NEVER, _NEVER_AT = 0.1, -3.2  # of so many next to nothing ever works: a rate of 4 %, on the logit
_ETA = np.linspace(-8, 8, 321)
_LEVEL_NODES, _SLOPE_NODES, _OWN_NODES = 7, 14, 5
_DRAWS, _DF, _PARTS = 200, 4.0, 8
_STEP = 0.2  # of the second differences at the mode
_COLUMNS = ["who", "seasons", "change", "low", "high", "p_falling"]


def slopes(frame: pd.DataFrame, seed: int = 0) -> pd.DataFrame:
    """How the rate of each goes from season to season, beside what the seasons did to all of them.

    ::

        worked: none where the clutch fails whole, with q = 0.1; else BetaBinomial(tried, p, rho = 0.15)
        logit(p) = mu + season + level + slope · (season's number - middle) + own season
        mu ~ Normal(0, 1.5²), season ~ Normal(0, 0.4²), own season ~ Normal(0, 0.3²),
        level ~ Normal(0, sd_level²), slope ~ Normal(0, sd_slope²), sd_level ~ HalfNormal(1), sd_slope ~ HalfNormal(½);
        for one in ten p = 0.04 in every season instead

    A first season that was good by luck is drawn towards the level of all, so that the next one need be no fall. Where
    there are few of them, what the seasons did cannot be told from what they did, and little is said.

    `frame` has a row a clutch: who, season (a number; even steps), worked, tried; missing counts are left out. A
    ValueError for counts that cannot be. Returns a row a who, in order of appearance: who, seasons (in which anything
    was tried); change, low, high (95 %): of its rate from its first to its last season, the seasons being alike;
    p_falling, the probability that its slope is below 0.

    Means and standard deviations are drawn from a Student-t about their mode and weighed by the exact posterior; level
    and slope of each are summed over nodes (Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., chapters 5 and 10;
    from memory).

    Examples
    --------
    >>> seen = {"who": ["Ivy"] * 3 + ["Fern"] * 3, "season": [1, 2, 3] * 2, "tried": 10}
    >>> table = slopes(pd.DataFrame(seen | {"worked": [9, 6, 1, 7, 8, 7]})).set_index("who")
    >>> bool(table.loc["Ivy", "p_falling"] > 0.7 > 0.5 > table.loc["Fern", "p_falling"])
    True
    """
    need_columns("slopes", frame, ("who", "season", "worked", "tried"))
    known = frame[frame[["worked", "tried", "season"]].notna().all(axis=1)]
    worked, tried = (numbers_of("slopes", known[name]) for name in ("worked", "tried"))
    if not ((worked >= 0) & (worked <= tried)).all():
        raise ValueError("counts need 0 <= worked <= tried")
    known = known[tried > 0]
    if known.empty:
        return pd.DataFrame(columns=_COLUMNS)
    m = _lay_out(known)
    return _told(m, *_draws(m, seed))


@dataclass(frozen=True)
class _Model:
    """What the clutches say: log likelihoods of each one's seasons.

    `table` (who, season, eta): at each logit of `_ETA`; `seen` (who, season); `x`: the seasons' numbers less their
    middle; `never` (who,): at a rate of next to nothing.
    """

    names: list[object]
    table: Array
    seen: NDArray[np.bool_]
    x: Array
    never: Array


def _lay_out(known: pd.DataFrame) -> _Model:
    who, names = pd.factorize(known["who"])
    when, numbers = pd.factorize(known["season"].astype(float), sort=True)
    table, seen = np.zeros((len(names), len(numbers), len(_ETA))), np.zeros((len(names), len(numbers)), bool)
    np.add.at(table, (who, when), _of_clutches(known))
    seen[who, when] = True
    never = table[:, :, np.abs(_ETA - _NEVER_AT).argmin()].sum(axis=1)
    z, w = np.polynomial.hermite_e.hermegauss(_OWN_NODES)
    moved = np.array([_at(table, np.broadcast_to(_ETA + OWN_SD * one, table.shape)) for one in z])
    peak = moved.max(axis=0)
    table = peak + np.log(np.tensordot(w / w.sum(), np.exp(moved - peak), 1))
    x = np.asarray(numbers, float) - (numbers.min() + numbers.max()) / 2
    return _Model(list(names), table, seen, x, never)


def _of_clutches(known: pd.DataFrame) -> Array:
    """Log likelihood of each clutch at each logit: (clutches, eta)."""
    from scipy.special import betaln, gammaln

    k, n = (known[name].to_numpy(float)[:, None] for name in ("worked", "tried"))
    p = 1 / (1 + np.exp(-_ETA))
    a, b = p * (1 / RHO - 1), (1 - p) * (1 / RHO - 1)
    ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    plain = np.log1p(-FAILING) + ways + betaln(k + a, n - k + b) - betaln(a, b)
    return np.asarray(np.logaddexp(plain, np.where(k == 0, np.log(FAILING), -np.inf)))


def _at(table: Array, eta: Array) -> Array:
    """Rows of `table` between its points, at eta (…, who, season, points)."""
    place = np.clip((eta - _ETA[0]) / (_ETA[1] - _ETA[0]), 0, len(_ETA) - 1.001)
    left = place.astype(np.int64)
    who, when = np.ogrid[: table.shape[0], : table.shape[1]]
    rows = (who[..., None], when[..., None])
    share = place - left
    return np.asarray(table[(*rows, left)] * (1 - share) + table[(*rows, left + 1)] * share)


def _nodes() -> tuple[Array, Array, Array]:
    """Level and slope in standard deviations, and the logarithm of their weights, each (nodes,)."""
    level, w = np.polynomial.hermite_e.hermegauss(_LEVEL_NODES)
    slope = (np.arange(_SLOPE_NODES) + 0.5 - _SLOPE_NODES / 2) * 6.4 / _SLOPE_NODES
    both = np.log(w)[:, None] - 0.5 * slope**2
    z = np.broadcast_arrays(level[:, None], slope)
    return z[0].ravel(), z[1].ravel(), (both - np.logaddexp.reduce(both, axis=None)).ravel()


def _by_node(m: _Model, theta: Array) -> Array:
    """Log likelihood of each one at each node, the last being that of never: (draws, who, nodes + 1).

    `theta` has a row a draw: mu, the seasons, the logarithms of sd_level and sd_slope.
    """
    level, slope, log_w = _nodes()
    sd_level, sd_slope = np.exp(theta[:, -2:]).T
    season = theta[:, 1:-2] + theta[:, :1]
    own = sd_level[:, None, None] * level + sd_slope[:, None, None] * m.x[:, None] * slope
    eta = np.broadcast_to((season[:, :, None] + own)[:, None], (len(theta), *m.seen.shape, len(level)))
    plain = np.where(m.seen[:, :, None], _at(m.table, eta), 0.0).sum(axis=2) + log_w + np.log1p(-NEVER)
    never = np.broadcast_to((m.never + np.log(NEVER))[:, None], (*plain.shape[:2], 1))
    return np.concatenate([plain, never], axis=2)


def _log_posterior(m: _Model, theta: Array) -> Array:
    logs = theta[:, -2:]
    priors = -0.5 * ((theta[:, 0] / MU_SD) ** 2 + ((theta[:, 1:-2] / SEASON_SD) ** 2).sum(axis=1))
    priors = priors + (logs - 0.5 * (np.exp(logs) / np.array([LEVEL_SD, SLOPE_SD])) ** 2).sum(axis=1)
    return np.asarray(priors + np.logaddexp.reduce(_by_node(m, theta), axis=2).sum(axis=1))


def _draws(m: _Model, seed: int) -> tuple[Array, Array]:
    """Draws of theta about its mode, and their weights."""
    from scipy.optimize import minimize

    def downhill(at: Array) -> tuple[float, Array]:
        values = _log_posterior(m, np.vstack([at, at + steps, at - steps]))
        return -values[0], (values[len(at) + 1 :] - values[1 : len(at) + 1]) / (0.2 * _STEP)

    start = np.r_[0.5, np.zeros(len(m.x)), np.log(0.5), np.log(0.25)]
    steps = 0.1 * _STEP * np.eye(len(start))
    mode = minimize(downhill, start, jac=True, method="L-BFGS-B", options={"maxiter": 60, "ftol": 1e-7}).x
    value, vector = np.linalg.eigh(_curvature(m, mode))
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((_DRAWS, len(start))) / np.sqrt(rng.chisquare(_DF, (_DRAWS, 1)) / _DF)
    theta = mode + z @ (vector / np.sqrt(np.maximum(value, 0.3))).T  # flat where nothing tells: no wider than 2 sds
    log_w = np.concatenate([_log_posterior(m, part) for part in np.array_split(theta, _PARTS)])
    log_w += 0.5 * (_DF + len(start)) * np.log1p((z**2).sum(axis=1) / _DF)
    weights = np.exp(log_w - log_w.max())
    return theta, weights / weights.sum()


def _curvature(m: _Model, mode: Array) -> Array:
    """Second differences of the log posterior, turned round."""
    steps = _STEP * np.eye(len(mode))
    sums = (steps[:, None] + steps).reshape(-1, len(mode))
    apart = (steps[:, None] - steps).reshape(-1, len(mode))
    same, other = (_log_posterior(m, mode + by) + _log_posterior(m, mode - by) for by in (sums, apart))
    curve = (other - same).reshape(len(mode), -1) / (4 * _STEP**2)
    return np.asarray((curve + curve.T) / 2)


def _told(m: _Model, theta: Array, weights: Array) -> pd.DataFrame:
    from scipy.special import expit

    level, slope, _ = _nodes()
    log_p = np.concatenate([_by_node(m, part) for part in np.array_split(theta, _PARTS)])
    p = np.exp(log_p - np.logaddexp.reduce(log_p, axis=2)[..., None]) * weights[:, None, None]
    falling = p[:, :, :-1].sum(axis=0) @ (slope < 0)
    middle, by = theta[:, :1] + np.exp(theta[:, -2:-1]) * level, np.exp(theta[:, -1:]) * slope
    rows = []
    for at, name in enumerate(m.names):
        x = m.x[m.seen[at]]
        change = np.pad(expit(middle + by * x[-1]) - expit(middle + by * x[0]), ((0, 0), (0, 1))).ravel()
        share, order = p[:, at].ravel(), np.argsort(change)
        low, high = np.interp([0.025, 0.975], np.cumsum(share[order]), change[order])
        rows.append((name, len(x), float(share @ change), float(low), float(high), float(falling[at])))
    return pd.DataFrame(rows, columns=_COLUMNS)
