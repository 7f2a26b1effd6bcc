"""How well `water_loss` foresees the loss at pip, on seasons of known truth: a quarter, half, three quarters through.

    python tests/calibrate_water.py [SEASONS [SEED]]

A season: 12 to 25 eggs in 3 or 4 groups (an incubator and a kind of 3, 6 or 25 g that pips on day 14, 20 or 25), each
group set over some days. An egg loses 0.15 ± 0.02 of its fresh mass; a day's loss is higher or lower by the air of
its incubator, alike for all the eggs in it, and by a little of the egg's own. Each weighing is off by half a step of
the scale and rounded to it. A season is weighed daily, every three days and twice; in the main setting with each of
three scales, in the others with one at random. Beside ours stands the handbook's ratio of the first
and the last weighing. Aims are ours; a row that misses one is printed as a miss. Shares carry their Monte Carlo error,
worked from season to season.

`python tests/calibrate_water.py 200 1`, 200 seasons a setting, scales of 0.01, 0.05 or 0.1 g; at a quarter, half and
three quarters of the way to pipping:

| air | 95 % of the loss at pipping held, % | error beside the handbook's ratio of two weighings (aim ≤ 0.8) |
|---|---|---|
| steady | 98.5 ± 0.1, 97.4 ± 0.2, 96.5 ± 0.2 (two MISSED) | 0.36, 0.54, 0.62 |
| 10 % a day, each day anew | 98.3 ± 0.2, 97.2 ± 0.2, 96.3 ± 0.2 (two MISSED) | 0.36, 0.55, 0.63 |
| 10 %, for about two days | 96.9, 96.5, 96.4 ± 0.1 | 0.40, 0.58, 0.65 |
| 20 %, for about two days | 94.4, 94.1, 94.9 ± 0.4 | 0.42, 0.63, 0.68 |
| 10 %, for a week | 95.0, 93.7, 94.4 ± 0.4 | 0.38, 0.58, 0.64 |
| incubators off by ± 0.03 | 96.5, 95.9, 95.3 ± 0.3 | 0.39, 0.58, 0.64 |
| a scale that only rounds | 96.8, 95.8, 96.5 ± 0.3 | 0.61, 0.83 MISSED, 0.90 MISSED |

With a scale of 0.01 g the two ends hold nearly all there is to know: there our error is 0.91 to 0.98 of the ratio's
(MISSED), and with two weighings alone a little above it. Without the day-to-day term 84 to 88 % held. The interval of
a group's mean is wide on purpose (97 to 100 %): eggs of an incubator share its air, so more of them are not surer.
"""

import sys
from dataclasses import dataclass
from itertools import product

import numpy as np
import pandas as pd

from analysis.eggs.water_advice import group_losses
from analysis.eggs.water_loss import loss_of_two, water_loss

LOSS, LOSS_SD = 0.15, 0.02
KINDS = ((3.0, 14), (6.0, 20), (25.0, 25))  # fresh mass in g, day of pip
WEIGHED = {"daily": 1, "every 3 days": 3, "twice": 0}
STEPS_G = (0.01, 0.05, 0.1)
PARTS = {"a quarter": 0.25, "half": 0.5, "three quarters": 0.75}
OWN = 0.05  # how a day's loss varies from egg to egg in the same air, as a share


@dataclass(frozen=True)
class Air:
    """How the loss of a day varies with the air of an incubator, and what the scale is worth.

    Parameters
    ----------
    sd : as a share of the loss of a day
    next_day : correlation of a day with the day before
    group_sd : how far an incubator stands from what it should, as a share of fresh mass lost at pip
    scale : scatter of the scale beyond its rounding, in its steps
    """

    sd: float
    next_day: float
    group_sd: float = 0.0
    scale: float = 0.5


SETTINGS = {
    "steady air": Air(0.0, 0.0),
    "10 % a day, each day anew": Air(0.1, 0.0),
    "10 %, for about two days": Air(0.1, 0.6),
    "20 %, for about two days": Air(0.2, 0.6),
    "10 %, for a week": Air(0.1, 0.87),
    "10 %, for about two days, incubators off by ± 0.03": Air(0.1, 0.6, 0.03),
    "10 %, for about two days, a scale that only rounds": Air(0.1, 0.6, scale=0.0),
}
MAIN = "10 %, for about two days"


@dataclass(frozen=True)
class Season:
    """Eggs with what is true of them: lost[egg, day] as a share of the fresh mass."""

    fresh_g: np.ndarray
    pip_d: np.ndarray
    group: np.ndarray
    lost: np.ndarray

    @property
    def at_pip(self) -> np.ndarray:
        """Share lost by pip."""
        return self.lost[np.arange(len(self.pip_d)), self.pip_d]


def simulate(air: Air, rng: np.random.Generator) -> Season:
    """One season."""
    eggs, groups = rng.integers(12, 26), rng.integers(3, 5)
    group = np.sort(np.append(np.arange(groups), rng.integers(0, groups, eggs - groups)))
    kind = rng.integers(0, len(KINDS), groups)[group]
    pip_d = np.array([KINDS[k][1] for k in kind])
    fresh_g = np.array([KINDS[k][0] for k in kind]) * np.exp(0.08 * rng.standard_normal(eggs))
    loss = LOSS + air.group_sd * rng.standard_normal(groups)[group] + LOSS_SD * rng.standard_normal(eggs)
    set_on = rng.integers(0, 10, eggs)
    days = 1 + set_on[:, None] + np.arange(25)
    factor = 1 + _wander(air, groups, rng)[group[:, None], days] + OWN * rng.standard_normal((eggs, 25))
    each = np.maximum(loss, 0.02)[:, None] / pip_d[:, None] * factor
    lost = np.column_stack([np.zeros(eggs), np.cumsum(each, axis=1)])
    return Season(fresh_g, pip_d, group, lost)


def _wander(air: Air, groups: int, rng: np.random.Generator) -> np.ndarray:
    fresh = air.sd * rng.standard_normal((groups, 40))
    for day in range(1, 40):
        fresh[:, day] = air.next_day * fresh[:, day - 1] + np.sqrt(1 - air.next_day**2) * fresh[:, day]
    return fresh


def weighed(
    season: Season, every_d: int, step_g: float, part: float, scale: float, rng: np.random.Generator
) -> pd.DataFrame:
    """The weighings of a season up to a part of incubation; every_d 0: the first day and the last alone."""
    frames = []
    for i, pip_d in enumerate(season.pip_d):
        last = int(part * pip_d)
        day = np.arange(0, last + 1, every_d) if every_d else np.array([0, last])
        mass = season.fresh_g[i] * (1 - season.lost[i, day]) + scale * step_g * rng.standard_normal(len(day))
        mass_g = step_g * np.round(mass / step_g)
        frames.append(pd.DataFrame({"egg": i, "day": day, "mass_g": mass_g, "group": f"G{season.group[i]}"}))
    return pd.concat(frames, ignore_index=True)


def counted(season: Season, weighings: pd.DataFrame) -> pd.DataFrame:
    """By egg: mass, whether its interval held, and the squared errors of ours and of the ratio."""
    pip_d, true = pd.Series(season.pip_d), season.at_pip
    found = water_loss(weighings, pip_d=pip_d)
    by_egg = weighings.groupby("egg")
    first, last = by_egg.first(), by_egg.last()
    ratio = loss_of_two(first["mass_g"], last["mass_g"], last["day"] - first["day"], pip_d)
    table = pd.DataFrame({"kind_g": [next(g for g, d in KINDS if d == pip) for pip in season.pip_d]})
    table["held"] = (found["low"] <= true) & (true <= found["high"])
    table["ours"], table["ratio"] = (found["at_pip"] - true) ** 2, (ratio - true) ** 2
    table["width"], table["off"] = found["high"] - found["low"], found["at_pip"] - true
    group = pd.Series([f"G{g}" for g in season.group])
    of_group = group_losses(found, group).set_index("name").loc[group]
    low, high = of_group["low"].to_numpy(), of_group["high"].to_numpy()
    mean = pd.Series(true).groupby(group).transform("mean")
    first_of = ~group.duplicated()
    return table.assign(group_held=np.where(first_of, (low <= mean) & (mean <= high), np.nan))


# -- the table


def share(parts: list[pd.Series]) -> tuple[float, float]:
    """A share in % over all seasons, and its Monte Carlo error."""
    k, n = np.array([(part.sum(), part.count()) for part in parts], float).T
    p = k.sum() / n.sum()
    return 100 * p, 100 * float(np.sqrt(np.sum((k - p * n) ** 2)) / n.sum())


def ratio_of_rms(parts: list[pd.DataFrame]) -> tuple[float, float]:
    """Root mean square error of ours over that of the ratio, and its Monte Carlo error."""
    ours, other = np.array([(part["ours"].sum(), part["ratio"].sum()) for part in parts]).T
    r = ours.sum() / other.sum()
    error = np.sqrt(np.sum((ours - r * other) ** 2)) / other.sum()
    return float(np.sqrt(r)), float(error / (2 * np.sqrt(r)))


def cell(value: tuple[float, float], aim: tuple[float, float], digits: str = ".1f") -> str:
    """A number with its Monte Carlo error, and whether it misses its aim."""
    said = f"{value[0]:{digits}} ± {value[1]:{digits}}"
    return said if aim[0] <= value[0] <= aim[1] else f"{said} MISSED"


def row(words: str, parts: list[pd.DataFrame]) -> str:
    """A row of the table."""
    held = cell(share([part["held"] for part in parts]), (93, 97))
    groups = cell(share([part["group_held"] for part in parts]), (93, 100))
    errors = cell(ratio_of_rms(parts), (0, 0.8), ".2f")
    both = pd.concat(parts)
    rms = " / ".join(f"{100 * np.sqrt(both[name].mean()):.2f}" for name in ("ours", "ratio"))
    return f"| {words} | {held} | {groups} | {errors} | {rms} | {100 * both['width'].mean():.1f} |"


def main(seasons: int = 200, seed: int = 1) -> None:
    """Simulate, foresee, count, print."""
    print(f"{seasons} seasons a setting, seed {seed}; aims: held 93–97 %, groups 93–100 %, ours to ratio ≤ 0.8.\n")
    head = "held, % | group's mean held, % | ours to ratio | rms errors, points | width, points |"
    for name, air in SETTINGS.items():
        rng = np.random.default_rng(seed)
        found: dict[tuple[str, float, str], list[pd.DataFrame]] = {}
        for _ in range(seasons):
            season = simulate(air, rng)
            steps_g = STEPS_G if name == MAIN else rng.choice(STEPS_G, 1)
            for (weighing, every_d), step_g, (part, of) in product(WEIGHED.items(), steps_g, PARTS.items()):
                seen = weighed(season, every_d, step_g, of, air.scale, rng)
                found.setdefault((weighing, step_g, part), []).append(counted(season, seen))
        print(f"{name}\n\n| weighed, step, when | {head}\n|{'---|' * 6}")
        for part in PARTS:
            print(row(f"all, {part}", [one for key, parts in found.items() if key[2] == part for one in parts]))
        if name == MAIN:
            for key, parts in found.items():
                print(row(f"{key[0]}, {key[1]} g, {key[2]}", parts))
        print(flush=True)


if __name__ == "__main__":
    if "--help" in sys.argv:
        sys.exit(print(__doc__))
    main(*(int(word) for word in sys.argv[1:]))
