"""How fast `fit_mixed` is beside pynlme, whether its cost is linear, and what the intervals of a season cost.

    python tests/bench_mixed.py [CHICKS [WEIGHINGS]]

Three chick effects, full covariance, proportional error. pynlme gets good starting values and the same model, called
for all chicks at once; it is timed in both its modes, with and without our derivatives. Our time includes finding
the start; the tables and intervals are worked out when asked for, and timed apart.

R's iteration stops its inner search early (pnlsTol 1e-3), some ten-thousandths of a standard error before its resting
place. The linearised likelihood is made anew at each place and is no maximum there, so that stopping short may leave
it a hundredth higher or lower; "tight" lets the same iteration come to rest (1e-9), and that is what compares.
"""

import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from analysis.growth import CURVES, fit_mixed

EFFECTS = {"chick": ("A", "K", "ti")}


def weigh(chicks: int, weighings: int, pairs: int = 0) -> pd.DataFrame:
    rng = np.random.default_rng(1)
    A_g, K_per_d = 90 * np.exp(rng.normal(0, 0.1, chicks)), 0.3 * np.exp(rng.normal(0, 0.1, chicks))
    ti_d, age_d = rng.normal(10, 1, chicks), np.arange(weighings) * 40.0 / weighings
    mass_g = CURVES["logistic"].mass(age_d, A_g[:, None], K_per_d[:, None], ti_d[:, None])
    mass_g = mass_g * np.exp(rng.normal(0, 0.05, mass_g.shape))
    each = np.repeat(np.arange(chicks), weighings)
    frame = pd.DataFrame({"chick": each, "age_d": np.tile(age_d, chicks), "mass_g": mass_g.ravel()})
    return frame.assign(pair=each % pairs) if pairs else frame


def log_mass(phi, t):
    return phi[..., 0] - np.log1p(np.exp(-np.exp(phi[..., 1]) * (t[..., 0] - phi[..., 2])))


def log_mass_jacobian(phi, t):
    K = np.exp(phi[..., 1])
    z = K * (phi[..., 2] - t[..., 0])
    by_z = -1 / (1 + np.exp(-z))
    return np.stack([np.ones_like(z), by_z * z, by_z * K], axis=-1)


def beside_pynlme(chicks: int, weighings: int) -> None:
    import pynlme

    frame = weigh(chicks, weighings)
    data = (frame[["age_d"]].to_numpy(), np.log(frame["mass_g"].to_numpy()), frame["chick"].to_numpy(), None)
    options = {"cov_pattern": np.ones((3, 3)), "vectorization": "full"}
    ours, fit = best_of(3, lambda: fit_mixed(frame, random=EFFECTS, covariance="full"))
    print(f"{chicks} chicks × {weighings} weighings: fit_mixed {ours:.3f} s, log-likelihood {fit.loglik:.4f}")
    models = {"": log_mass, ", our derivatives": pynlme.with_jacobian(log_mass, log_mass_jacobian)}
    tight = {"pnls_tol": 1e-9, "pnls_max_iter": 100}
    for words, model in models.items():
        for mode, more in (("matlab", {}), ("r", {}), ("r", tight)):
            call = lambda model=model, mode=mode, more=more: pynlme.fit_nlme(  # noqa: E731
                *data, model, np.array([4.4, -1.2, 9.5]), compat=mode, **options, **more
            )
            theirs, (_, _, stats, _) = best_of(3, call)
            print(
                f"  pynlme, {mode} mode{words}{', tight' if more else ''}: {theirs:.3f} s, "
                f"log-likelihood {stats.logl:.4f}; "
                f"ours takes {ours / theirs:.2f} of its time, log-likelihood {fit.loglik - stats.logl:+.4f}"
            )


def is_linear(weighings: int) -> None:
    each = {}
    for chicks in (1_000, 50_000):
        frame = weigh(chicks, weighings)
        taken, fit = best_of(
            5 if chicks == 1_000 else 2, lambda f=frame: fit_mixed(f, random=EFFECTS, covariance="full")
        )
        each[chicks] = taken / len(frame)
        print(f"{chicks} chicks: {taken:.3f} s, {1e6 * each[chicks]:.2f} µs a weighing, converged {fit.converged}")
    print(f"  a weighing at 50,000 chicks costs {each[50_000] / each[1_000]:.2f} times one at 1,000")


def is_linear_with_many_weighed_once(weighings: int) -> None:
    each = {}
    for chicks in (1_000, 10_000):
        frame = weigh(chicks, weighings, pairs=chicks // 4)
        once = frame["chick"] % 5 < 2
        frame = pd.concat([frame[once].groupby("chick").sample(1, random_state=1), frame[~once]])
        taken, fit = best_of(2, lambda f=frame: fit_mixed(f))
        each[chicks] = taken / len(frame)
        print(f"{chicks} chicks, 2 in 5 weighed once: {taken:.3f} s, converged {fit.converged}")
    print(f"  a weighing at 10,000 chicks costs {each[10_000] / each[1_000]:.2f} times one at 1,000")


def intervals() -> None:
    for chicks in (30, 60):
        frame = weigh(chicks, 25, pairs=12)
        fitted, _ = best_of(3, lambda f=frame: fit_mixed(f))
        both, _ = best_of(3, lambda f=frame: fit_mixed(f).chicks)
        print(f"a season of {chicks} chicks: fit {fitted:.3f} s, intervals of all chicks {both - fitted:.3f} s more")


def best_of(times: int, call: Callable[[], Any]) -> tuple[float, Any]:
    """Shortest time of a few, seconds, and the last result."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        result = call()
        taken.append(time.perf_counter() - begin)
    return min(taken), result


if __name__ == "__main__":
    size = [int(word) for word in sys.argv[1:]] + [2_000, 40][len(sys.argv) - 1 :]
    beside_pynlme(*size)
    is_linear(size[1])
    is_linear_with_many_weighed_once(size[1])
    intervals()
