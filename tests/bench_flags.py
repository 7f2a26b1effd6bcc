"""How long `find_flags(live=True)` takes beside a least-squares fit after each weighing, and whether it is linear.

    python tests/bench_flags.py [CHICKS [WEIGHINGS]]

The peer is scipy's curve_fit with good starting values: a logistic curve through each chick's weights after every
weighing from the fifth on, which is what looking on from day to day needs before anything is judged. It is timed on
a tenth of the chicks. One run prints both, and their ratio.
"""

import contextlib
import sys
import time
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from scipy.optimize import curve_fit

from analysis.growth import CURVES, find_flags


def weigh(chicks: int, weighings: int) -> pd.DataFrame:
    """Chicks weighed every day, one weight in a hundred written wrong."""
    rng, age_d = np.random.default_rng(1), np.arange(1.0, weighings + 1)
    log_A, log_K, ti = (np.array([np.log(90), np.log(0.22), 11]) + rng.standard_normal((chicks, 3)) * [0.1, 0.07, 1]).T[
        ..., None
    ]
    mass_g = CURVES["logistic"].mass(age_d, np.exp(log_A), np.exp(log_K), ti)
    mass_g = mass_g * np.exp(0.03 * rng.standard_normal(mass_g.shape))
    mass_g[rng.random(mass_g.shape) < 0.01] *= 1.7
    each = np.repeat(np.arange(chicks), weighings)
    return pd.DataFrame({"chick": each, "age_d": np.tile(age_d, chicks), "mass_g": mass_g.ravel()})


def one_by_one(frame: pd.DataFrame) -> None:
    """A logistic curve through each chick's ln weights, after each weighing."""
    for _, rows in frame.groupby("chick"):
        age_d, log_mass = rows["age_d"].to_numpy(), np.log(rows["mass_g"].to_numpy())
        for n in range(5, len(rows) + 1):
            with contextlib.suppress(RuntimeError):
                curve_fit(_log_mass, age_d[:n], log_mass[:n], [4.5, -1.5, 11.0])


def _log_mass(age_d: np.ndarray, log_A: float, log_K: float, ti: float) -> np.ndarray:
    return log_A - np.log1p(np.exp(-np.exp(log_K) * (age_d - ti)))


def timed(call: Callable[[], Any]) -> tuple[float, Any]:
    """Shortest of three, seconds, and what it gave."""
    taken = []
    for _ in range(3):
        begin = time.perf_counter()
        result = call()
        taken.append(time.perf_counter() - begin)
    return min(taken), result


def main(chicks: int = 1_000, weighings: int = 40) -> None:
    """Time both, and four times as many chicks."""
    warnings.simplefilter("ignore")  # curve_fit on a few weighings
    frame = weigh(chicks, weighings)
    ours, flags = timed(lambda: find_flags(frame, live=True))
    theirs = 10 * timed(lambda: one_by_one(frame[frame["chick"] < chicks / 10]))[0]
    print(f"{chicks} chicks × {weighings} weighings: find_flags live {ours:.2f} s, {len(flags)} flags")
    print(f"  curve_fit after each weighing: {theirs:.2f} s; ours takes {ours / theirs:.2f} of its time")
    for more, longer in ((4, 1), (1, 4)):
        big = weigh(more * chicks, longer * weighings)
        taken, _ = timed(lambda big=big: find_flags(big, live=True))  # type: ignore[misc]
        each = taken / len(big) / (ours / len(frame))
        print(f"{more * chicks} × {longer * weighings}: {taken:.2f} s; a weighing costs {each:.2f} of one before")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
