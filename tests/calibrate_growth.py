"""How often the 95 % intervals of `fit_mixed` hold the truth, over simulated seasons of known truth.

    python tests/calibrate_growth.py [SEASONS [SEED]]

A season: 20 to 30 chicks in 8 pairs, of the curve that is fitted; about a third of them have four weighings or
fewer. A share is printed with its Monte Carlo error, worked from season to season, since chicks of a season share
its standard deviations. Our aim is 93 to 97 %; a miss is printed as a miss.
"""

import sys
from collections import defaultdict

import numpy as np
import pandas as pd

from analysis.growth import CURVES
from analysis.growth.mixed import MixedFit, fit_mixed

PAIRS, SIGMA = 8, 0.04
POPULATION = np.array([np.log(90), np.log(0.3), 10.0])
SD_CHICK, SD_PAIR = np.array([0.08, 0.08, 1.0]), np.array([0.06, 0.04, 0.0])
NAMES = ("A_g", "K_per_d", "ti_d")
FEW = 4


def simulate(rng: np.random.Generator) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Weighings; the truth of chicks and of pairs by name; and one more weighing of each chick."""
    chicks = int(rng.integers(20, 31))
    pair = np.append(np.arange(PAIRS), rng.integers(0, PAIRS, chicks - PAIRS))
    of_pair = POPULATION + SD_PAIR * rng.standard_normal((PAIRS, 3))
    of_chick = of_pair[pair] + SD_CHICK * rng.standard_normal((chicks, 3))
    rows, later = [], []
    for i, (log_A, log_K, ti) in enumerate(of_chick):
        few = rng.random() < 1 / 3
        n = int(rng.integers(1, FEW + 1)) if few else int(rng.integers(8, 25))
        ages = np.sort(rng.choice(np.arange(1, 15 if few else 36), n, replace=False))
        ages = np.append(ages, ages[-1] + rng.integers(1, 4)).astype(float)
        mass_g = CURVES["logistic"].mass(ages, np.exp(log_A), np.exp(log_K), ti)
        mass_g = mass_g * np.exp(SIGMA * rng.standard_normal(n + 1))
        weighed = pd.DataFrame({"chick": f"C{i:02}", "pair": f"P{pair[i]}", "age_d": ages, "mass_g": mass_g})
        rows.append(weighed[:-1])
        later.append(weighed[-1:])
    tables = [pd.DataFrame(np.column_stack([np.exp(t[:, :2]), t[:, 2]]), columns=NAMES) for t in (of_chick, of_pair)]
    tables[0].index = pd.Index([f"C{i:02}" for i in range(chicks)])
    tables[1].index = pd.Index([f"P{i}" for i in range(PAIRS)])
    return pd.concat(rows), *tables, pd.concat(later)


def held(fit: MixedFit, frame: pd.DataFrame, chicks: pd.DataFrame, pairs: pd.DataFrame, later: pd.DataFrame) -> dict:
    """Whether each interval held the truth, by what it is an interval of."""
    few = (frame.groupby("chick").size() <= FEW).to_numpy()
    found = {}
    for name in NAMES:
        inside = _inside(fit.chicks, chicks, name)
        found[f"chick {name}, all"], found[f"chick {name}, ≤ {FEW} weighings"] = inside, inside[few]
    for name in NAMES[:2]:
        found[f"pair {name}"] = _inside(fit.pairs, pairs, name)
    next_one = np.concatenate([_next(fit, row) for row in later.itertuples()])
    found["next weighing, all"], found[f"next weighing, ≤ {FEW} weighings"] = next_one, next_one[few]
    return found


def _inside(table: pd.DataFrame, truth: pd.DataFrame, name: str) -> np.ndarray:
    return ((table[f"{name}_low"] <= truth[name]) & (truth[name] <= table[f"{name}_high"])).to_numpy()


def _next(fit: MixedFit, row) -> np.ndarray:
    expected = fit.expect(row.age_d, row.chick)
    return ((expected["low_g"] <= row.mass_g) & (row.mass_g <= expected["high_g"])).to_numpy()


def table_of(seasons: dict[str, list[np.ndarray]]) -> pd.DataFrame:
    """Share of intervals that held, in %, with its Monte Carlo error, and whether that is within the aim."""
    rows = []
    for what, each in seasons.items():
        k, n = np.array([one.sum() for one in each]), np.array([len(one) for one in each])
        share = k.sum() / n.sum()
        error = np.sqrt(np.sum((k - share * n) ** 2)) / n.sum()
        aim = "met" if 0.93 <= share <= 0.97 else "missed"
        rows.append((what, n.sum(), round(100 * share, 1), round(100 * error, 1), aim))
    return pd.DataFrame(rows, columns=["95 % interval of", "intervals", "held %", "± MC", "93–97 %"])


def main(seasons: int = 100, seed: int = 1) -> None:
    """Simulate, fit, count, print."""
    rng = np.random.default_rng(seed)
    found: dict[str, list[np.ndarray]] = defaultdict(list)
    settled = 0
    for _ in range(seasons):
        frame, chicks, pairs, later = simulate(rng)
        fit = fit_mixed(frame)
        settled += fit.converged
        for what, inside in held(fit, frame, chicks, pairs, later).items():
            found[what].append(inside)
    print(f"{seasons} seasons, seed {seed}; {settled} fits converged")
    print(table_of(found).to_string(index=False))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
