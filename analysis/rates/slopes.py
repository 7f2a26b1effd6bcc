"""How the rates of some go over the seasons, all of them in one model; said of none what all of them do together."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.needed import need_columns, numbers_of

Array = NDArray[np.float64]

# What is thought beforehand, on the logit (practice, ours): the level, what a season does to all, how far levels and
# changes a season differ, what one season does to one of them, the intraclass correlation of a clutch's eggs (about
# 0.15 by published counts), and the share of clutches that fail whole.
MU_SD, SEASON_SD, LEVEL_SD, SLOPE_SD, OWN_SD, RHO, FAILING = 1.5, 0.4, 1.0, 0.5, 0.3, 0.15, 0.1
NEVER, _NEVER_ETA = 0.1, -3.2  # hens of which next to nothing hatches: their share, and the logit of 0.04
_ETA = np.linspace(-8, 8, 321)
_LEVEL_NODES, _SLOPE_NODES, _OWN_NODES = 7, 14, 5
_DRAWS, _DF = 200, 4.0
_COLUMNS = ["who", "seasons", "change", "low", "high", "p_falling"]


def slopes(frame: pd.DataFrame, seed: int = 0) -> pd.DataFrame:
    """How the rate of each goes from season to season, beside what the seasons did to all of them.

    ::

        worked: none where the clutch fails whole, with q = 0.1; else BetaBinomial(tried, p, rho = 0.15)
        logit(p) = mu + season + level + slope · (season's number - middle) + own season
        mu ~ Normal(0, 1.5²), season ~ Normal(0, 0.4²), own season ~ Normal(0, 0.3²),
        level ~ Normal(0, sd_level²), slope ~ Normal(0, sd_slope²), sd_level ~ HalfNormal(1), sd_slope ~ HalfNormal(½)

    A first season that was good by luck is drawn towards the level of all, so that the next one need be no fall; of
    one alone the season's doing and its own cannot be told apart, and little is said.

    `frame` has a row a clutch: who, season (a number; even steps), worked, tried. A ValueError for counts that cannot
    be. Returns a row a who, in order of appearance: who, seasons (in which anything was tried); change, low, high
    (95 %): of its rate from its first to its last season, the seasons being alike; p_falling, the probability that its
    slope is below 0.

    Means and standard deviations are drawn from a Student-t about their mode and weighed by the exact posterior; level
    and slope of each are summed over nodes (Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., chapters 5 and 10;
    from memory).

    Examples
    --------
    >>> seen = {"who": ["Ivy"] * 3 + ["Fern"] * 3, "season": [1, 2, 3] * 2, "tried": 10}
    >>> slopes(pd.DataFrame(seen | {"worked": [9, 6, 1, 7, 8, 7]}))["p_falling"].round(1).tolist()
    [0.9, 0.4]
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
    theta, weights = _draws(m, seed)
    return _told(m, theta, weights)


@dataclass(frozen=True)
class _Model:
    """`table` (who, season, eta): log likelihood of one's season at each logit; `x`: seasons' numbers less middle."""

    names: list[object]
    table: Array
    seen: NDArray[np.bool_]
    x: Array
    never: Array


def _lay_out(known: pd.DataFrame) -> _Model:
    from scipy.special import betaln, gammaln

    who, names = pd.factorize(known["who"])
    when, numbers = pd.factorize(known["season"].astype(float), sort=True)
    k, n = (known[name].to_numpy(float)[:, None] for name in ("worked", "tried"))
    p = 1 / (1 + np.exp(-_ETA))
    a, b = p * (1 / RHO - 1), (1 - p) * (1 / RHO - 1)
    ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    plain = np.log1p(-FAILING) + ways + betaln(k + a, n - k + b) - betaln(a, b)
    clutch = np.logaddexp(plain, np.where(k == 0, np.log(FAILING), -np.inf))
    table = np.zeros((len(names), len(numbers), len(_ETA)))
    np.add.at(table, (who, when), clutch)
    z, w = np.polynomial.hermite_e.hermegauss(_OWN_NODES)
    moved = [_at(table, np.broadcast_to(_ETA + OWN_SD * one, table.shape)) for one in z]
    peak = np.max(moved, axis=0)
    table = peak + np.log(np.tensordot(w / w.sum(), np.exp(moved - peak), 1))
    seen = np.zeros(table.shape[:2], bool)
    seen[who, when] = True
    x = np.asarray(numbers, float) - (numbers.min() + numbers.max()) / 2
    at_never = np.where(seen, table[:, :, np.abs(_ETA - _NEVER_ETA).argmin()], 0.0).sum(axis=1)
    return _Model(list(names), table, seen, x, at_never)


def _at(table: Array, eta: Array) -> Array:
    """Rows of `table` between its points, at eta (…, who, season, points)."""
    step = _ETA[1] - _ETA[0]
    place = np.clip((eta - _ETA[0]) / step, 0, len(_ETA) - 1.001)
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
    """Log likelihood of each of them at each node and theta (draws, mu, seasons, log sds): (draws, who, nodes)."""
    level, slope, log_w = _nodes()
    sd_level, sd_slope = np.exp(theta[:, -2:]).T
    season = theta[:, 1:-2] + theta[:, :1]
    own = sd_level[:, None, None] * level + sd_slope[:, None, None] * m.x[:, None] * slope
    eta = season[:, :, None] + own
    eta = np.broadcast_to(eta[:, None], (len(theta), *m.seen.shape, len(level)))
    plain = np.where(m.seen[:, :, None], _at(m.table, eta), 0.0).sum(axis=2) + log_w + np.log1p(-NEVER)
    never = np.broadcast_to((m.never + np.log(NEVER))[None, :, None], (*plain.shape[:2], 1))
    return np.concatenate([plain, never], axis=2)


def _log_posterior(m: _Model, theta: Array) -> Array:
    priors = -0.5 * ((theta[:, 0] / MU_SD) ** 2 + ((theta[:, 1:-2] / SEASON_SD) ** 2).sum(axis=1))
    logs = theta[:, -2:]
    priors = priors + (logs - 0.5 * (np.exp(logs) / np.array([LEVEL_SD, SLOPE_SD])) ** 2).sum(axis=1)
    return np.asarray(priors + np.logaddexp.reduce(_by_node(m, theta), axis=2).sum(axis=1))


def _draws(m: _Model, seed: int) -> tuple[Array, Array]:
    from scipy.optimize import minimize

    start = np.r_[0.5, np.zeros(len(m.x)), np.log(0.5), np.log(0.25)]
    step = 0.02 * np.eye(len(start))

    def slope_of(at: Array) -> tuple[float, Array]:
        values = _log_posterior(m, np.vstack([at, at + step, at - step]))
        return -values[0], -(values[1 : len(at) + 1] - values[len(at) + 1 :]) / 0.04

    found = minimize(slope_of, start, jac=True, method="L-BFGS-B", options={"maxiter": 60, "ftol": 1e-7})
    far = 10 * step
    grid = np.array([[found.x + one + other for other in far] for one in far]).reshape(-1, len(start))
    back = np.array([[found.x + one - other for other in far] for one in far]).reshape(-1, len(start))
    curve = (
        _log_posterior(m, back)
        - _log_posterior(m, grid)
        + _log_posterior(m, 2 * found.x - back)
        - _log_posterior(m, 2 * found.x - grid)
    ).reshape(len(start), -1) / (4 * 0.2**2)
    value, vector = np.linalg.eigh((curve + curve.T) / 2)
    root = vector / np.sqrt(np.maximum(value, 0.3))
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((_DRAWS, len(start))) / np.sqrt(rng.chisquare(_DF, (_DRAWS, 1)) / _DF)
    theta = found.x + z @ root.T
    log_w = np.concatenate([_log_posterior(m, part) for part in np.array_split(theta, 8)])
    log_w += 0.5 * (_DF + len(start)) * np.log1p((z**2).sum(axis=1) / _DF)
    weights = np.exp(log_w - log_w.max())
    return theta, weights / weights.sum()


def _told(m: _Model, theta: Array, weights: Array) -> pd.DataFrame:
    from scipy.special import expit

    level, slope, _ = _nodes()
    below = np.zeros(len(m.names))
    cells: list[tuple[Array, Array]] = []
    for one, w in zip(np.array_split(theta, 8), np.array_split(weights, 8), strict=True):
        log_p = _by_node(m, one)
        p = np.exp(log_p - np.logaddexp.reduce(log_p, axis=2)[..., None]) * w[:, None, None]
        below += p[:, :, :-1][:, :, slope < 0].sum(axis=(0, 2))
        cells.append((one, p))
    rows = []
    for at, name in enumerate(m.names):
        x = m.x[m.seen[at]]
        changes, ps = [], []
        for one, p in cells:
            mid = one[:, :1] + np.exp(one[:, -2:-1]) * level
            by = np.exp(one[:, -1:]) * slope
            changes.append(expit(mid + by * x[-1]) - expit(mid + by * x[0]))
            changes[-1] = np.concatenate([changes[-1], np.zeros((len(one), 1))], axis=1)
            ps.append(p[:, at])
        change, p = np.concatenate(changes).ravel(), np.concatenate(ps).ravel()
        order = np.argsort(change)
        low, high = np.interp([0.025, 0.975], np.cumsum(p[order]), change[order])
        rows.append((name, len(x), float(p @ change), low, high, float(below[at])))
    return pd.DataFrame(rows, columns=_COLUMNS)
