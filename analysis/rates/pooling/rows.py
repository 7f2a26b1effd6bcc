"""Log likelihood of clutches whose logit is given, and how it bends: binomial or scattered, and each may fail whole.

Binomial coefficients are left out. `eta` is (batch, rows, nodes), logits `q` of the share of clutches that fail whole
and `theta`, the scatter, (batch,).
"""

from typing import Any, NamedTuple

import numpy as np

from analysis.rates.pooling.design import Array, Design, Factors

_FARTHEST = 60.0  # logits at which a rate is still a number above 0 in single precision


class Bend(NamedTuple):
    """Log likelihood of rows, first and second derivative in eta, and the first in the logit q and in theta."""

    log: Array
    slope: Array
    curve: Array
    by_q: Array
    by_theta: Array


def rows_log(d: Design, eta: Any, q: Array | None, theta: Array | None) -> Any:
    """Log likelihood of rows; None: no clutch fails whole, there is no scatter."""
    log = _binomial(d, eta) if theta is None else _scattered(d, eta, theta)
    return log if q is None else may_fail(d, log, q)


def rows_bend(d: Design, eta: Array, q: Array | None, theta: Array | None) -> Bend:
    """The same with its derivatives; those in q and theta 0 where off."""
    bend = _binomial_bend(d, eta) if theta is None else _scattered_bend(d, eta, theta)
    if q is None:
        return bend
    log, slope, curve, _, by_theta = bend
    mixed = may_fail(d, log, q)
    by_q, own = fails_slope(d, log, mixed, q)
    f, c = slope[:, d.lost], curve[:, d.lost]
    curve[:, d.lost] = own * (c + f**2) - (own * f) ** 2
    slope[:, d.lost] = own * f
    if theta is not None:
        by_theta[:, d.lost] *= own
    return Bend(mixed, slope, curve, by_q, by_theta)


def soft(eta: Array, small: Array) -> Array:
    """ln(1 + exp(-eta)), from exp(-|eta|)."""
    found = np.log(1 + small)
    found += np.maximum(-eta, 0)
    return np.asarray(found)


def _binomial(d: Design, eta: Any) -> Any:
    k, n = (counts.astype(eta.dtype)[:, None] for counts in (d.worked, d.tried))
    log = soft(eta, np.exp(-np.abs(eta)))
    log *= -n
    log -= (n - k) * eta
    return log


def _binomial_bend(d: Design, eta: Array) -> Bend:
    k, n = d.worked[:, None], d.tried[:, None]
    small = np.exp(-np.abs(eta))
    log = -n * soft(eta, small) - (n - k) * eta
    p = np.where(eta >= 0, 1.0, small) / (1 + small)
    none = np.zeros((1, 1, 1))
    return Bend(log, k - n * p, -n * p * (1 - p), none, none)


def _rate_and_rest(eta: Any) -> tuple[Any, Any]:
    """Both p and 1 - p, each as exact near 0 as near 1."""
    far = np.clip(eta, -_FARTHEST, _FARTHEST)
    p = 1 / (1 + np.exp(-far))
    return p, np.exp(-far) * p


def _scattered(d: Design, eta: Any, theta: Array) -> Any:
    assert d.scattered is not None
    p, rest = _rate_and_rest(eta)
    log = np.zeros_like(p)
    log -= _whole(d, theta)[0].astype(p.dtype)
    for share, factors in ((p, d.scattered.up), (rest, d.scattered.down)):
        for part in factors:
            away, power, rows = _parts(part, theta, len(d.tried), p.dtype)
            log[:, rows] += power * np.log(share[:, rows] + away)
    return log


def _parts(part: Factors, theta: Array, rows: int, kind: Any) -> tuple[Any, Any, Any]:
    """How far away each row's factor is, (batch, rows, 1), its power, and the rows."""
    away = (theta[:, None] * part.at)[..., None].astype(kind)
    return away, part.power[:, None].astype(kind), slice(None) if len(part.rows) == rows else part.rows


def _whole(d: Design, theta: Array) -> tuple[Array, Array]:
    """What the factors that divide come to, as a log, and its slope in theta, (batch, rows, 1)."""
    assert d.scattered is not None
    log, slope = np.zeros((2, len(theta), len(d.tried), 1))
    for part in d.scattered.whole:
        away, power, rows = _parts(part, theta, len(d.tried), float)
        log[:, rows] += power * np.log1p(away)
        slope[:, rows] += power * part.at[:, None] / (1 + away)
    return log, slope


def _scattered_bend(d: Design, eta: Array, theta: Array) -> Bend:
    assert d.scattered is not None
    p, rest = _rate_and_rest(eta)
    whole, whole_slope = _whole(d, theta)
    log, by_theta = (np.zeros_like(p) - part for part in (whole, whole_slope))
    slope, curve = np.zeros((2, *p.shape))
    for sign, share, factors in ((1, p, d.scattered.up), (-1, rest, d.scattered.down)):
        for part in factors:
            away, power, rows = _parts(part, theta, len(d.tried), float)
            sum_of = share[:, rows] + away
            log[:, rows] += power * np.log(sum_of)
            over = power / sum_of
            slope[:, rows] += sign * over
            curve[:, rows] -= over / sum_of
            by_theta[:, rows] += part.at[:, None] * over
    width = p * rest
    return Bend(log, slope * width, curve * width**2 + slope * width * (rest - p), np.zeros((1, 1, 1)), by_theta)


def may_fail(d: Design, log: Array, q: Array) -> Array:
    """Log likelihood of rows where each may fail whole, whatever its rate: (1 - q) L + q [nothing worked]."""
    log_1q = -np.logaddexp(0, q)[:, None, None]
    mixed = log + (d.clutches[:, None] * log_1q).astype(log.dtype)
    mixed[:, d.lost] = either(d, mixed[:, d.lost], q)
    return mixed


def either(d: Design, lost: Array, q: Array) -> Array:
    """Log likelihood of the lost rows that may have failed whole, from that of their not having."""
    log_q = -np.logaddexp(0, -q)[:, None, None]
    below = lost - (log_q + d.unlike[:, None]).astype(lost.dtype)
    return np.asarray(lost + soft(below, np.exp(-np.abs(below))))


def fails_slope(d: Design, log: Array, mixed: Array, q: Array) -> tuple[Array, Array]:
    """Slope of `may_fail` in the logit q, and of the lost rows the chance that they did not fail whole."""
    own = np.exp(log[:, d.lost] - np.logaddexp(0, q)[:, None, None] - mixed[:, d.lost])
    share = 1 / (1 + np.exp(-q))[:, None, None]
    by_q = np.broadcast_to(-share * d.clutches[:, None], log.shape).copy()
    by_q[:, d.lost] = 1 - own - share
    return by_q, own


def failed_log(d: Design, lost: Array, q: Array) -> Array:
    """Log chance that each lost row failed whole, (batch, lost, nodes), from its log likelihood."""
    return np.asarray(d.unlike[:, None] - np.logaddexp(0, -q)[:, None, None] - lost)
