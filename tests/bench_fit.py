"""How fast `fit_each` is beside a loop of scipy's curve_fit and of lmfit, in one run on this machine.

    python tests/bench_fit.py [CHICKS [WEIGHINGS]]

All get the same weighings and the same start values: ours, better than a guess. Our time includes finding them
and building the table. curve_fit is timed as most would write it and with the analytic Jacobian; it and lmfit
are timed on some of the chicks and scaled up. The largest relative difference of A, K and ti is printed.
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
from analysis.growth.start import start_values
from analysis.growth.weighings import weighings_of

LOOPED = {"curve_fit": 400, "curve_fit, Jacobian": 400, "lmfit": 100}
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


def one_fit(method: str, error: str) -> Callable[..., list[float]]:
    model, jacobian, scale = FORMS[error]
    if method == "lmfit":
        fitted = lmfit.Model(model)

        def fit(t, y, start):
            result = fitted.fit(scale(y), t=t, **dict(zip("AK", start[:2], strict=True)), ti=start[2])
            return [result.params[name].value for name in ("A", "K", "ti")]
    else:
        jac = jacobian if "Jacobian" in method else None

        def fit(t, y, start):
            return curve_fit(model, t, scale(y), p0=start, jac=jac)[0]

    return fit


def compare(error: str, chicks: int, weighings: int) -> None:
    frame = weigh(chicks, weighings, error)
    ours, fits = best_of(5, lambda: fit_each(frame, error=error))
    mixed = frame.sample(frac=1, random_state=1)
    shuffled, _ = best_of(5, lambda: fit_each(mixed, error=error))
    print(f"{error}: {chicks} chicks × {weighings} weighings, {fits['converged'].sum()} converged")
    print(f"  fit_each {ours:.3f} s, rows in random order {shuffled:.3f} s")
    rows = weighings_of(frame)
    starts = start_values(rows, CURVES["logistic"], additive=error == "additive")
    starts[:, :2] = np.exp(starts[:, :2])
    t, y = rows.age_d.reshape(chicks, -1), rows.mass_g.reshape(chicks, -1)
    for method, most in LOOPED.items():
        some, fit = range(min(most, chicks)), one_fit(method, error)
        theirs, found = best_of(3, lambda some=some, fit=fit: [fit(t[i], y[i], starts[i]) for i in some])
        theirs *= chicks / len(some)
        away = np.max(np.abs(np.array(found) / fits[NAMES].to_numpy()[: len(some)] - 1))
        print(
            f"  {method:19} {theirs:7.2f} s (scaled from {len(some)} chicks), {theirs / ours:6.1f} times ours; "
            f"largest relative difference {away:.1e}"
        )


def best_of(times: int, call: Callable[[], Any]) -> tuple[float, Any]:
    """Shortest time of a few, seconds, and the last result."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        result = call()
        taken.append(time.perf_counter() - begin)
    return min(taken), result


if __name__ == "__main__":
    size = [int(word) for word in sys.argv[1:]] + [10_000, 40][len(sys.argv) - 1 :]
    for error in FORMS:
        compare(error, *size)
