"""How fast `fit_each` is beside a loop of scipy's curve_fit and of lmfit, in one run on this machine.

    python tests/bench_fit.py [CHICKS [WEIGHINGS]]

All get the same weighings, the same error model and the same start values: ours, better than a guess. Our time is
that of the whole call: frame read, starts found, curves and standard errors worked out, table built. Theirs is that
of the fits alone: starts, arrays cut into chicks and logarithms are ready before the clock starts, and no table is
built. curve_fit is timed as most would write it and as fast as it goes (its checks off, Jacobian given), each on all
chicks; lmfit on some of them, scaled up. Shortest of a few runs, by the clock on the wall and in processor time (ours
uses one processor). The largest relative difference of A, K and ti must stay below 1e-3, or the run fails.
"""

import sys
import time
from collections.abc import Callable
from typing import Any

import lmfit
import numpy as np
import pandas as pd
from scipy.optimize import curve_fit

from analysis.growth import CURVES, fit_each
from analysis.growth.as_arrays import weighings_of
from analysis.growth.least_squares import start_values

# Chicks timed, and runs.
LOOPED = {
    "curve_fit": (10_000, 3),
    "curve_fit, no checks": (10_000, 3),
    "curve_fit, Jacobian": (10_000, 3),
    "lmfit": (500, 2),
}
OURS = 15
SAME = 1e-3
NAMES = ["A_g", "K_per_d", "ti_d"]


def mass(t, A, K, ti):
    return A / (1 + np.exp(-K * (t - ti)))


def mass_jacobian(t, A, K, ti):
    e = np.exp(-K * (t - ti))
    share = 1 / (1 + e)
    by_z = A * share**2 * e
    return np.stack([share, by_z * (t - ti), -by_z * K], axis=1)


def log_mass(t, A, K, ti):
    return np.log(A) - np.log1p(np.exp(-K * (t - ti)))


def log_mass_jacobian(t, A, K, ti):
    return mass_jacobian(t, A, K, ti) / mass(t, A, K, ti)[:, None]


FORMS = {"proportional": (log_mass, log_mass_jacobian, np.log), "additive": (mass, mass_jacobian, np.asarray)}


def weigh(chicks: int, weighings: int, error: str) -> pd.DataFrame:
    rng = np.random.default_rng(1)
    A, K, ti = (
        90 * np.exp(rng.normal(0, 0.1, chicks)),
        0.3 * np.exp(rng.normal(0, 0.1, chicks)),
        rng.normal(10, 1, chicks),
    )
    age_d = np.arange(weighings) * 40.0 / weighings
    mass_g = CURVES["logistic"].mass(age_d, A[:, None], K[:, None], ti[:, None])
    noise = rng.normal(0, 1, mass_g.shape)
    mass_g = mass_g * np.exp(0.05 * noise) if error == "proportional" else np.maximum(mass_g + 1.5 * noise, 0.5)
    chick = np.repeat(np.arange(chicks), weighings)
    return pd.DataFrame({"chick": chick, "age_d": np.tile(age_d, chicks), "mass_g": mass_g.ravel()})


def one_fit(method: str, error: str) -> Callable[..., Any]:
    model, jacobian, _ = FORMS[error]
    if method == "lmfit":
        fitted = lmfit.Model(model)

        def fit(t, y, start):
            params = fitted.fit(y, t=t, A=start[0], K=start[1], ti=start[2]).params
            return [params[name].value for name in ("A", "K", "ti")]
    else:
        options = {"jac": jacobian} if "Jacobian" in method else {}
        if method != "curve_fit":
            options["check_finite"] = False

        def fit(t, y, start):
            return curve_fit(model, t, y, p0=start, **options)[0]

    return fit


def compare(error: str, chicks: int, weighings: int) -> None:
    frame = weigh(chicks, weighings, error)
    ours, fits = best_of(OURS, lambda: fit_each(frame, error=error))
    mixed = frame.sample(frac=1, random_state=1)
    shuffled, _ = best_of(OURS, lambda: fit_each(mixed, error=error))
    print(f"{error}: {chicks} chicks × {weighings} weighings, {fits['converged'].sum()} converged")
    print(f"  {'':22} {'wall':>8} {'processor':>10}")
    print(f"  {'fit_each':22} {ours[0]:7.3f}s {ours[1]:9.3f}s   rows in random order {shuffled[1]:.3f}s")
    rows = weighings_of(frame)
    starts = start_values(rows, CURVES["logistic"], additive=error == "additive")
    starts[:, :2] = np.exp(starts[:, :2])
    t, y = rows.age_d.reshape(chicks, -1), FORMS[error][2](rows.mass_g.reshape(chicks, -1))
    for method, (most, times) in LOOPED.items():
        some, fit = range(min(most, chicks)), one_fit(method, error)
        theirs, found = best_of(times, lambda some=some, fit=fit: [fit(t[i], y[i], starts[i]) for i in some])
        theirs *= chicks / len(some)
        away = np.max(np.abs(np.array(found) / fits[NAMES].to_numpy()[: len(some)] - 1))
        print(
            f"  {method:22} {theirs[0]:7.2f}s {theirs[1]:9.2f}s   "
            f"{theirs[0] / ours[0]:.1f} and {theirs[1] / ours[1]:.1f} times ours ({len(some)} chicks timed); "
            f"largest relative difference {away:.1e}"
        )
        if not away < SAME:
            raise SystemExit(f"{method} and fit_each differ by {away:.1e}.")


def best_of(times: int, call: Callable[[], Any]) -> tuple[np.ndarray, Any]:
    """Shortest time of a few, on the wall and of the processor, seconds, and the last result."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter(), time.process_time()
        result = call()
        taken.append(np.subtract((time.perf_counter(), time.process_time()), begin))
    return np.min(taken, axis=0), result


if __name__ == "__main__":
    size = [int(word) for word in sys.argv[1:]] + [10_000, 40][len(sys.argv) - 1 :]
    for error in FORMS:
        compare(error, *size)
