"""A growth curve for each chick alone, all chicks at once, by least squares."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analysis.finding import Finding, found
from analysis.growth.as_arrays import Weighings, weighings_of
from analysis.growth.curves import Array, Curve, named_curve
from analysis.growth.least_squares import Problems, above_zero, least_squares, solve, start_values
from analysis.needed import numbers_of

Start: TypeAlias = Mapping[str, float] | pd.DataFrame | None
# Practice, our own cuts, no source: beyond them a final weight is a guess and not a finding.
MOST_BEYOND = 2.0  # final weight / heaviest weighing
MOST_UNSURE_A = 0.25  # standard error / final weight
MOST_UNSURE_K = 0.5  # standard error / rate: twice it would reach zero
ERRORS = ("proportional", "additive")
PARAMETERS = ("A_g", "K_per_d", "ti_d")
NUMBERS = (*PARAMETERS, "A_g_se", "K_per_d_se", "ti_d_se", "shape", "shape_se", "t10_90_d", "max_gain_g_per_d")
# A residual of this share of the mass is rounding.
FINE = 1e-7
# A parameter whose variance grows this much through the others is not known at all.
MOST_INFLATED = 1e10


@dataclass(frozen=True)
class Fits:
    """Fits of one curve to each chick on the scale on which they were made."""

    chicks: pd.Index
    theta: Array  # (chicks, parameters), ln A, ln K, ti[, m]; NaN where there is no fit
    covariance: Array  # (chicks, parameters, parameters), sigma² (J'J)⁻¹
    sigma: Array  # (chicks,), residual standard error with n - p degrees of freedom
    why: np.ndarray  # (chicks,), why there is no fit; blank where there is one


def fit_each(
    frame: pd.DataFrame, curve: str = "logistic", error: str = "proportional", start: Start = None
) -> pd.DataFrame:
    """Fit a growth curve to each chick alone.

    Least squares on ln mass (`error="proportional"`: the scatter is a share of the weight, as with a chick
    that grows from 2 g to 100 g) or on mass (`"additive"`: the same scatter in gram at every age). Standard
    errors are those of sigma² (J'J)⁻¹; they say little where weighings are few. A chick that cannot be fitted
    says why in its row and disturbs no other. A chick that has not bent yet keeps its numbers and says
    so in `why`: they are not to be shown, and `presentable` blanks them.

    Parameters
    ----------
    frame : chick (any name), age_d (days), mass_g (gram); one row a weighing, in any order
    curve : "logistic", "gompertz", "von_bertalanffy" or "richards"
    error : "proportional" or "additive"
    start : first values A_g, K_per_d, ti_d (and shape for Richards), for all chicks or a frame with a row for
        some of them; by default they are found from the weighings

    Returns
    -------
    Frame with a row for each chick, by name:
        A_g, K_per_d, ti_d : final weight, rate, age at the fastest growth
        A_g_se, K_per_d_se, ti_d_se : their standard errors
        shape, shape_se : m of Richards' curve, else NaN
        t10_90_d : days from 10 % to 90 % of A
        max_gain_g_per_d : gain at ti
        sigma : residual standard error, n - p degrees of freedom; of ln mass, or in gram
        n : weighings
        converged : whether a curve was found
        why : what to know before the numbers are used, a finding; blank where nothing is

    Raises
    ------
    ValueError : unknown curve or error; a column is missing; an age that is no finite number, a weight not above 0

    Examples
    --------
    >>> age_d = np.array([1, 5, 9, 13, 17, 21, 25])
    >>> mass_g = 35 / (1 + np.exp(-0.3 * (age_d - 11)))
    >>> frame = pd.DataFrame({"chick": "B1", "age_d": age_d, "mass_g": mass_g})
    >>> fit_each(frame).loc["B1", ["A_g", "K_per_d", "ti_d", "t10_90_d"]].astype(float).round(3).tolist()
    [35.0, 0.3, 11.0, 14.648]
    """
    form = named_curve(curve)
    if error not in ERRORS:
        raise ValueError(f"There is no error {error!r}. Errors: {', '.join(ERRORS)}.")
    rows = weighings_of(frame)
    return _table(rows, form, solve_each(rows, form, additive=error == "additive", start=start))


def solve_each(rows: Weighings, curve: Curve, *, additive: bool = False, start: Start = None) -> Fits:
    """`fit_each` without the table: parameters and covariances of each chick on the scale of the fit."""
    count, p = len(rows.sizes), len(curve.parameters)
    theta, covariance = np.full((count, p), np.nan), np.full((count, p, p), np.nan)
    sigma, why = np.full(count, np.nan), _cannot_be_fitted(rows, curve)
    able = why == ""
    if able.any():
        theta[able], covariance[able], sigma[able], why[able] = _solve(rows.only(able), curve, additive, start)
    return Fits(rows.chicks, theta, covariance, sigma, why)


def presentable(fits: pd.DataFrame) -> pd.DataFrame:
    """The same table with the numbers blanked (NaN) wherever `why` has something to say."""
    shown = fits.copy()
    shown.loc[shown["why"] != "", list(NUMBERS)] = np.nan
    return shown


def predict(fits: pd.DataFrame, ages: ArrayLike, curve: str = "logistic") -> pd.DataFrame:
    """The fitted curves at these ages, for drawing: chick, age_d, mass_g, for each chick that has numbers.

    Of the table from `fit_each` every chick with a curve is drawn, of that from `presentable` the findings.
    """
    form = named_curve(curve)
    drawn = fits[fits["converged"].astype(bool) & fits["A_g"].notna()]
    age_d = np.asarray(ages, float)
    of_chick = (drawn[column].to_numpy(float)[:, None] for column in (*PARAMETERS, "shape"))
    mass_g = form.mass(age_d, *of_chick)
    columns = {"chick": drawn.index.repeat(len(age_d)), "age_d": np.tile(age_d, len(drawn)), "mass_g": mass_g.ravel()}
    return pd.DataFrame(columns)


def _solve(rows: Weighings, curve: Curve, additive: bool, start: Start) -> tuple[Array, Array, Array, np.ndarray]:
    """Theta, covariance, sigma and why of chicks that can be fitted."""
    low, high = _bounds(rows, curve)
    first = start_values(rows, curve, additive=additive)
    if start is not None:
        first = _given(start, rows, curve, otherwise=first)
    y = rows.mass_g if additive else np.log(rows.mass_g)
    fine = FINE * (rows.heaviest() if additive else np.ones(len(rows.sizes)))
    model = curve.mass_gradient if additive else curve.log_mass_gradient
    rounding = rows.sizes * fine**2
    problems = Problems(model, rows.age_d, y, rows.first, rows.sizes, low.T, high.T, rounding)
    found = least_squares(problems, above_zero(np.clip(first, low, high), rows, curve).T)
    sigma = np.sqrt(found.rss / (rows.sizes - len(curve.parameters)))
    p, _, chicks = found.cross.shape
    inverse = solve(found.cross, np.repeat(np.eye(p)[:, :, None], chicks, axis=2))
    # The largest factor by which the other parameters inflate one parameter's variance.
    inflated = np.max(np.einsum("iin->in", inverse) * np.einsum("iin->in", found.cross), axis=0)
    theta, covariance = found.theta.T, (sigma**2 * inverse).T
    lost = ~(found.settled & (inflated < MOST_INFLATED))
    why = np.full(len(lost), "", object)
    why[lost] = _did_not_settle(theta[lost], rows.only(lost))
    theta[lost], covariance[lost], sigma[lost] = np.nan, np.nan, np.nan
    return theta, covariance, sigma, why


def _bounds(rows: Weighings, curve: Curve) -> tuple[Array, Array]:
    """Bounds on theta, wide enough for poor starts, on the scale of each chick's own ages and weights."""
    begin, end = rows.age_d[rows.first], rows.age_d[rows.last]
    span, heaviest = end - begin, np.log(rows.heaviest())
    low = [heaviest + np.log(1e-3), np.log(1e-3 / span), begin - 100 * span, np.full(len(span), -0.95)]
    high = [heaviest + np.log(1e4), np.log(1e3 / span), end + 100 * span, np.full(len(span), 50.0)]
    p = len(curve.parameters)
    return np.column_stack(low[:p]), np.column_stack(high[:p])


def _given(start: Mapping[str, float] | pd.DataFrame, rows: Weighings, curve: Curve, *, otherwise: Array) -> Array:
    """First values on the scale of the fit from those given; `otherwise` for a chick without."""
    needs = f"start needs {', '.join(curve.parameters)}"
    if not isinstance(start, Mapping | pd.DataFrame):
        raise ValueError(f"{needs} by name, not {start!r}.")
    if missing := [name for name in curve.parameters if name not in start]:
        raise ValueError(f"{needs}; missing: {', '.join(missing)}.")
    every = pd.DataFrame(start, index=rows.chicks) if isinstance(start, Mapping) else start.reindex(rows.chicks)
    given = np.column_stack([numbers_of("start", every[name]) for name in curve.parameters])
    if np.any(given[:, :2] <= 0):
        raise ValueError("start needs A_g and K_per_d above zero.")
    given[:, :2] = np.log(given[:, :2])
    return np.where(np.isnan(given).any(axis=1, keepdims=True), otherwise, given)


def _cannot_be_fitted(rows: Weighings, curve: Curve) -> np.ndarray:
    """Why a chick cannot be fitted at all, before trying: (chicks,), blank where it can."""
    p, n = len(curve.parameters), rows.sizes
    new_age = np.append(True, np.diff(rows.age_d) != 0)[: len(rows.age_d)]
    new_age[rows.first] = True
    ages = rows.total(new_age.astype(float)).astype(int)
    age, log_mass = rows.age_d, np.log(rows.mass_g)
    rise = rows.total((age - rows.each(rows.total(age) / n)) * log_mass)
    flat = rows.total((rows.mass_g != rows.each(rows.mass_g[rows.first])).astype(float)) == 0
    return _first_that_holds(
        len(n),
        (n <= p, _counted(n, lambda count: found("growth.own-too-few", weighings=count, needed=p + 1))),
        (ages == 1, found("growth.own-one-age")),
        (ages < p, _counted(ages, lambda count: found("growth.own-few-ages", ages=count, needed=p))),
        (flat, found("growth.own-flat")),
        (rise <= 0, found("growth.own-no-rise")),
    )


def _did_not_settle(theta: Array, rows: Weighings) -> np.ndarray:
    """Why the search found no curve for any of these chicks: (chicks,)."""
    beyond = theta[:, 0] - np.log(rows.heaviest())
    from_ti = rows.each(np.exp(theta[:, 1])) * np.abs(rows.age_d - rows.each(theta[:, 2]))
    in_the_rise = rows.total((from_ti < 3).astype(float))
    return _first_that_holds(
        len(rows.sizes),
        (beyond > np.log(100), found("growth.own-no-bend")),
        (in_the_rise < 2, found("growth.own-jumps")),
        (np.full(len(rows.sizes), True), found("growth.own-unsettled")),
    )


def _table(rows: Weighings, curve: Curve, fits: Fits) -> pd.DataFrame:
    shape = fits.theta[:, 3] if curve.shape is None else np.full(len(rows.sizes), np.nan)
    A_g, K_per_d, ti_d = np.exp(fits.theta[:, 0]), np.exp(fits.theta[:, 1]), fits.theta[:, 2]
    se = np.sqrt(np.diagonal(fits.covariance, axis1=1, axis2=2))
    errors = A_g * se[:, 0], K_per_d * se[:, 1], se[:, 2]
    of_shape = shape, se[:, 3] if curve.shape is None else shape
    between_curves = curve.t10_90(K_per_d, shape), curve.largest_gain(A_g, K_per_d, shape)
    columns = dict(zip(NUMBERS, (A_g, K_per_d, ti_d, *errors, *of_shape, *between_curves), strict=True))
    columns |= {"sigma": fits.sigma, "n": rows.sizes, "converged": fits.why == ""}
    table = pd.DataFrame(columns, index=fits.chicks)
    last = rows.age_d[rows.last] if len(rows.sizes) else np.zeros(0)
    no_finding = _first_that_holds(
        len(table),
        (ti_d > last, found("growth.own-no-bend")),
        (A_g > MOST_BEYOND * rows.heaviest(), found("growth.own-far-beyond", times=MOST_BEYOND)),
        (errors[0] > MOST_UNSURE_A * A_g, found("growth.own-unsure-weight")),
        (errors[1] > MOST_UNSURE_K * K_per_d, found("growth.own-unsure-rate")),
    )
    why = np.where(table["converged"], no_finding, fits.why)
    table["why"] = pd.Series(why, index=table.index, dtype=object)
    return table


def _counted(counts: np.ndarray, of_count: Callable[[int], Finding]) -> np.ndarray:
    """The finding of each chick's count: one for each count that there is."""
    different, of = np.unique(counts, return_inverse=True)
    return np.array([of_count(int(count)) for count in different], object)[of]


def _first_that_holds(count: int, *cases: tuple[ArrayLike, object]) -> np.ndarray:
    """For each chick the finding of the first case that holds, else blank."""
    why = np.full(count, "", object)
    for holds, because in reversed(cases):
        why = np.where(holds, np.asarray(because, object), why)
    return why
