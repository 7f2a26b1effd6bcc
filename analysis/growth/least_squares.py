"""Damped least squares (Levenberg–Marquardt) on many small problems at once.

Rows of all problems lie end to end and are measured side by side, so one pass of NumPy serves many problems.
Each problem has its own damping, and leaves the work when it has settled. In every array problems come last.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from analysis.growth.as_arrays import Weighings
from analysis.growth.curves import Array, Curve

Model = Callable[[Array, Array], tuple[Array, Array]]

# Numbers in a table: few enough that what is worked out from it stays in cache and needs no new memory from the
# system, and so many that the work is long beside the calls that start it. From half to twice as many is as fast.
TOGETHER = 24_000
# Final weights tried, as multiples of the heaviest weighing; shapes tried where the shape is fitted.
FINALS = (1.01, 1.2, 2.0, 10.0)
SHAPES = (-0.3, 0.3, 1.0, 3.0)
# Weighings of a chick that are enough for a start, spread over all it has.
ENOUGH = 12
# The curve must be above zero at the first weighing: 1 + m e^z may not fall below this.
LEAST = 0.05
# A share of the final weight below this is no weighing of a chick, and its powers would overflow.
LEAST_LOG_SHARE = -30.0
# Steps of a search at most.
MOST_STEPS = 200
# Settled: the step still to go is this share of a standard error (Bates & Watts' relative offset, as R's nls).
OFFSET = 1e-6
# Damping at which no step helps any more.
STUCK = 1e12
# A change of the sum of squares by this share is rounding.
ROUNDING = 1e-13
# Squared length of a column that is as good as zero.
NO_COLUMN = 1e-200


def side_by_side(sizes: np.ndarray) -> Iterator[tuple[np.ndarray, np.ndarray, Array | None]]:
    """Lay out problems of `sizes` rows, at least one, in tables, the longest first: in one all are of much one length.

    Yields numbers (columns,), the problems in this table; place (rows, columns), which of its problem's rows stands
    there, the last where a column lacks some; real (rows, columns), 0 where a row only fills, or None where none does.
    """
    order, begin = np.argsort(-sizes, kind="stable"), 0
    while begin < len(order):
        longest = sizes[order[begin]]
        numbers = order[begin : begin + max(1, TOGETHER // longest)]
        begin += len(numbers)
        down, size = np.arange(longest)[:, None], sizes[numbers]
        yield numbers, np.minimum(down, size - 1), None if size[-1] == longest else (down < size).astype(float)


def start_values(rows: Weighings, curve: Curve, *, additive: bool) -> Array:
    """First (ln A, ln K, ti[, m]) of each chick, (chicks, parameters).

    For a final weight A and a shape, z = ln(((W/A)^-m - 1)/m) is the straight line -K (t - ti) in age. Each of a few A
    (and shapes) is tried by one weighted regression, weights by the delta method, and the one with the least weighted
    scatter is taken. A dozen weighings spread over all a chick has are read for this: more make no better start.
    """
    theta, heaviest = np.empty((len(rows.sizes), 4)), np.log(rows.heaviest())
    shapes, taken = SHAPES if curve.shape is None else (curve.shape,), np.minimum(rows.sizes, ENOUGH)
    every = (rows.sizes - 1) / np.maximum(taken - 1, 1)
    for chicks, place, real in side_by_side(taken):
        index = rows.first[chicks] + np.rint(place * every[chicks]).astype(int)
        age_d, log_mass = rows.age_d[index], np.log(rows.mass_g[index])
        trust = np.exp(2 * log_mass) if additive else np.ones(index.shape)
        if real is not None:
            trust *= real
        each = (_line(age_d, log_mass, trust, heaviest[chicks] + np.log(c), m, curve) for m in shapes for c in FINALS)
        tried, scatter = zip(*each, strict=True)
        theta[chicks] = np.stack(tried)[np.argmin(scatter, axis=0), :, np.arange(len(chicks))]
    return above_zero(theta[:, : len(curve.parameters)], rows, curve)


def above_zero(theta: Array, rows: Weighings, curve: Curve) -> Array:
    """Move ti to an earlier age where the curve would still be at zero at the first weighing."""
    m = theta[:, 3] if curve.shape is None else np.full(len(theta), curve.shape)
    K = np.exp(theta[:, 1])
    z_first = K * (theta[:, 2] - rows.age_d[rows.first])
    z_most = np.where(m < 0, np.log((1 - LEAST) / np.where(m < 0, -m, 1.0)), np.inf)
    theta[:, 2] -= np.maximum(z_first - z_most, 0) / K
    return theta


def _line(age_d: Array, log_mass: Array, trust: Array, log_A: Array, m: float, curve: Curve) -> tuple[Array, Array]:
    """Theta (4, chicks) for one final weight and one shape, and the scatter it leaves."""
    z = curve.z_at(np.maximum(log_mass - log_A, LEAST_LOG_SHARE), m)
    x = np.exp(z)
    weight = trust * (x / (1 + m * x)) ** 2
    total = weight.sum(axis=0)
    mean_age, mean_z = _dot(weight, age_d) / total, _dot(weight, z) / total
    age, z = age_d - mean_age, z - mean_z
    weight_age = weight * age
    fall = -_dot(weight_age, z) / _dot(weight_age, age)
    K = np.maximum(fall, 0.1 / (age_d[-1] - age_d[0]))
    z += K * age
    return np.stack([log_A, np.log(K), mean_age + mean_z / K, np.full(len(K), m)]), _dot(weight, z**2)


@dataclass(frozen=True)
class Problems:
    """Many small problems, their rows end to end."""

    model: Model  # value (rows, problems), gradient (parameters, rows, problems) at x and theta (parameters, problems)
    x: Array  # (rows of all,)
    y: Array
    first: np.ndarray  # (problems,), where the rows of each problem begin
    sizes: np.ndarray  # (problems,), how many they are, at least one
    low: Array  # (parameters, problems), bounds
    high: Array
    rounding: Array  # (problems,), a sum of squares so small that it is rounding, by which an exact fit is told

    @cached_property
    def tables(self) -> list[tuple[np.ndarray, Array, Array, Array | None]]:
        """Numbers, x, y and `real` of problems side by side."""
        each = [(numbers, self.first[numbers] + place, real) for numbers, place, real in side_by_side(self.sizes)]
        return [(numbers, self.x[rows], self.y[rows], real) for numbers, rows, real in each]

    def only(self, which: np.ndarray) -> "Problems":
        """Those problems alone (`which`: their numbers)."""
        first, sizes, rounding = self.first[which], self.sizes[which], self.rounding[which]
        return Problems(self.model, self.x, self.y, first, sizes, self.low[:, which], self.high[:, which], rounding)

    def measure(self, theta: Array) -> tuple[Array, Array, Array]:
        """Residual sum of squares, J'r and J'J at theta (parameters, problems).

        Where any of them is not finite the sum of squares is infinite and the others are zero.
        """
        rss, slope, cross = np.empty(theta.shape[1]), np.empty_like(theta), np.empty((len(theta), *theta.shape))
        with np.errstate(over="ignore", invalid="ignore"):
            for numbers, x, y, real in self.tables:
                value, gradient = self.model(x, theta[:, numbers])
                residual = np.subtract(y, value, out=value)
                if real is not None:
                    residual *= real
                    gradient *= real
                rss[numbers] = np.einsum("rn,rn->n", residual, residual)
                slope[:, numbers] = np.einsum("irn,rn->in", gradient, residual)
                cross[:, :, numbers] = np.einsum("irn,jrn->ijn", gradient, gradient)
            broken = ~np.isfinite(rss + np.einsum("iin->n", cross))
        rss[broken], slope[:, broken], cross[:, :, broken] = np.inf, 0.0, 0.0
        return rss, slope, cross

    def inside(self, theta: Array) -> np.ndarray:
        """Whether theta is inside the bounds: (problems,)."""
        return np.asarray(np.all((theta >= self.low) & (theta <= self.high), axis=0))


@dataclass(frozen=True)
class Search:
    """Where the search for each of the problems stands."""

    theta: Array  # (parameters, problems)
    rss: Array  # (problems,), residual sum of squares
    slope: Array  # (parameters, problems), J'r at theta
    cross: Array  # (parameters, parameters, problems), J'J at theta
    damping: Array  # (problems,), d of the next step
    growth: Array  # (problems,), by how much it grows if the step is refused
    settled: np.ndarray  # (problems,), whether a least was found inside the bounds

    def only(self, which: np.ndarray) -> "Search":
        """A copy of those problems alone (`which`: their numbers)."""
        return Search(*(values.take(which, axis=-1) for values in vars(self).values()))

    def put(self, which: np.ndarray, other: "Search") -> None:
        """Set those problems to the values of the other."""
        for values, new in zip(vars(self).values(), vars(other).values(), strict=True):
            values[..., which] = new


def least_squares(problems: Problems, start: Array) -> Search:
    """Parameters of each problem that make its sum of (y - model(x, theta))² least; `start` lies inside the bounds.

    A step solves (J'J + d diag(J'J)) step = J'r; d falls where the step kept what it promised and grows where
    it did not (Marquardt 1963; the rule of growth after Nielsen 1999, from memory). A step that leaves the
    bounds, or to where the model is not finite, is refused like one that makes the fit worse.
    """
    rss, slope, cross = problems.measure(start)
    damping = np.where(np.isfinite(rss), 1e-3, STUCK)
    found = Search(start.copy(), rss, slope, cross, damping, np.full(len(rss), 2.0), np.zeros(len(rss), bool))
    now, busy = found, np.arange(len(rss))
    for _ in range(MOST_STEPS):
        step = solve(now.cross, now.slope, now.damping)
        _settle(problems, now, step)
        going = ~now.settled & (now.damping < STUCK)
        if not going.all():
            stay, leave = np.flatnonzero(going), np.flatnonzero(~going)
            found.put(busy[leave], now.only(leave))
            busy, now, problems, step = busy[stay], now.only(stay), problems.only(stay), step[:, stay]
        if not busy.size:
            break
        _advance(problems, now, step)
    found.put(busy, now)
    return found


def solve(cross: Array, right: Array, damping: Array | float = 0.0) -> Array:
    """(J'J + damping diag(J'J))⁻¹ right of each problem, by Gauss's elimination.

    J'J, (parameters, parameters, problems), is positive definite, so no rows change places and the scale of a parameter
    does not matter. right : (parameters, problems), or (parameters, any, problems) for several right sides.
    """
    left, right, p = cross.copy(), right.copy(), len(cross)
    for i in range(p):
        # Never quite undamped, so that columns which say the same give no step instead of an error.
        left[i, i] = left[i, i] * (1 + np.maximum(damping, ROUNDING)) + NO_COLUMN
    for i in range(p):
        for j in range(i + 1, p):
            share = left[i, j] / left[i, i]
            left[j, j:] -= share * left[i, j:]
            right[j] -= share * right[i]
    for i in reversed(range(p)):
        for j in range(i + 1, p):
            right[i] -= left[i, j] * right[j]
        right[i] /= left[i, i]
    return right


def _settle(problems: Problems, now: Search, step: Array) -> None:
    """Settle, by an undamped step, the problems where it promises less than OFFSET² of the scatter.

    It is asked where the damped step promises as little, and no longer measured: what it leaves is far less.
    """
    enough = OFFSET**2 * (now.rss + problems.rounding)
    near = np.flatnonzero((_dot(now.slope, step) <= enough) & np.isfinite(now.rss))
    slope = now.slope[:, near]
    last = solve(now.cross[:, :, near], slope)
    now.settled[near] = _dot(slope, last) <= enough[near]
    theta = now.theta.copy()
    theta[:, near] += last * now.settled[near]
    np.copyto(now.theta, theta, where=problems.inside(theta))


def _advance(problems: Problems, now: Search, step: Array) -> None:
    """Take the steps that make the fit better, and set each damping by the share of the promised gain."""
    theta = now.theta + step
    inside = problems.inside(theta)
    theta = np.where(inside, theta, now.theta)
    rss, slope, cross = problems.measure(theta)
    # 2 step'J'r - step'J'J step, where (J'J + d diag(J'J)) step = J'r.
    promised = _dot(now.slope, step) + now.damping * _dot(np.einsum("iin->in", now.cross), step**2)
    gain, least = now.rss - rss, ROUNDING * now.rss
    # Where the promise is below rounding the gain cannot be measured, and the step is believed.
    kept = np.where((promised < least) & (gain > -least), 1.0, gain / promised)
    taken = inside & (kept > 0)
    for old, new in ((now.theta, theta), (now.rss, rss), (now.slope, slope), (now.cross, cross)):
        np.copyto(old, new, where=taken)
    now.damping[:] *= np.where(taken, np.clip(1 - (2 * np.clip(kept, 0, 2) - 1) ** 3, 0.1, 2), now.growth)
    now.growth[:] = np.where(taken, 2, now.growth * 2)


def _dot(a: Array, b: Array) -> Array:
    """Sum of products over the first axis."""
    return np.asarray(np.einsum("in,in->n", a, b))
