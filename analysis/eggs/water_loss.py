"""How much water an egg has lost, and how much it will have lost at pip. Frames in, frames out."""

from functools import reduce
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.eggs.water_line import SCATTER, TYPICAL, TYPICAL_SD, Array, Weighings, predicted_loss
from analysis.finding import LOOK, Words, found
from analysis.names import by_name

COLUMNS = ["n", "first_d", "last_d", "fresh_g", "lost", "a_day", "at_pip", "low", "high"]
COARSEST = 0.04  # step of a scale as a share of the mass, at most: a few weighings may share a larger one by chance
# Before anything is said of a pair's shells, and pairs to compare it with (practice).
LEAST_CLUTCHES, LEAST_EGGS, LEAST_OTHERS = 2, 4, 2


def water_loss(weighings: pd.DataFrame, *, pip_d: pd.Series | float) -> pd.DataFrame:
    """What each egg weighed when set, has lost, and will have lost at pip.

    mass = fresh · (1 - b · day - wander(day)) + scatter. The scatter is a share of the mass, one for all eggs, and
    beside it half a step of the scale, which is read from the masses themselves. The slopes b of a group are drawn
    together: b ~ Normal(of the group, spread²), so an egg with few weighings leans on the others, one with many stands
    for itself. The wander is what drier and damper days add and take away: the loss of a day varies about b and keeps
    to it for about two days, so what lies ahead is no line. Scatter, spread and wander are integrated over a grid, so
    the interval says what is not known of them. How well it does: tests/calibrate_water.py.

    `weighings`, in any order: egg, day (since it was set), mass_g (any unit of mass does), and optionally group (text:
    eggs that share a place and a kind). Without it all eggs are one group; an egg with a blank group stands alone. Rows
    without a day or with a mass not above 0 are left out. `pip_d`: days from setting to pip, by egg or one for all.

    Returns a row an egg, in order of first appearance: n (weighings), first_d, last_d; fresh_g: mass on day 0; shares
    of it: lost (by last_d), a_day, and at_pip with low and high, its 95 % interval. Weighings of a single day say
    nothing of a loss: NaN from `lost` on; nor of an egg whose day of pip is not known: NaN from `fresh_g` on.

    Source: that a line serves, and that loss is judged at pip, Duerr & Gage, *Hand-Rearing Birds*, 2nd ed., 2020,
    pp. 65, 553; the typical loss, Ar & Rahn 1980, *Am. Zool.* (abstract).
    """
    rows, names = _usable(weighings), pd.Index(weighings["egg"].dropna().unique())
    if isinstance(pip_d, pd.Series):
        pips = pip_d.reindex(names).astype(float)
        pips = pips.where(pips > 0)
    else:
        pips = pd.Series(float(pip_d), index=names)
    known = rows["egg"].map(pips).notna()
    by_egg = rows.groupby("egg", sort=False)["day"]
    table = by_egg.agg(["size", "min", "max"]).reindex(pips.index).set_axis(COLUMNS[:3], axis=1)
    table["n"] = table["n"].fillna(0).astype(int)
    table = table.reindex(columns=COLUMNS).rename_axis("egg")
    if known.any():
        names = pips.index[pips.index.isin(rows["egg"][known])]
        table.loc[names, COLUMNS[3:]] = predicted_loss(_laid_out(rows[known], names, pips[names].to_numpy(float)))
        table.loc[table["first_d"] == table["last_d"], COLUMNS[4:]] = np.nan
    return table


def loss_of_two(start_g: ArrayLike, end_g: ArrayLike, days: ArrayLike, pip_d: ArrayLike) -> Array:
    """Share lost at pip by the handbook's ratio of two weighings so many days apart: ((S - E) / D · I) / S.

    Source: Duerr & Gage, *Hand-Rearing Birds*, 2nd ed., 2020, p. 553.
    """
    start, end = np.asarray(start_g, float), np.asarray(end_g, float)
    return np.asarray((start - end) / np.asarray(days, float) * np.asarray(pip_d, float) / start)


def _usable(weighings: pd.DataFrame) -> pd.DataFrame:
    missing = [name for name in ("egg", "day", "mass_g") if name not in weighings]
    if missing:
        raise ValueError(f"the weighings have no column {', '.join(missing)}")
    day, mass_g = weighings["day"].astype(float), weighings["mass_g"].astype(float)
    rows = weighings.assign(day=day, mass_g=mass_g)
    good = np.isfinite(day) & np.isfinite(mass_g) & (mass_g > 0)
    return rows[good].sort_values(["day", "mass_g"], kind="stable")


def _laid_out(rows: pd.DataFrame, names: pd.Index, pip_d: Array) -> Weighings:
    egg = names.get_indexer(rows["egg"])
    at = rows.groupby("egg", sort=False).cumcount().to_numpy()
    there = np.zeros((len(names), at.max() + 1), bool)
    there[egg, at] = True
    u, mass_g = np.zeros(there.shape), np.zeros(there.shape)
    u[egg, at], mass_g[egg, at] = rows["day"] / pip_d[egg], rows["mass_g"]
    last = mass_g[np.arange(len(names)), there.sum(axis=1) - 1]
    fresh, loss = _first_guess(there, u, mass_g)
    step = np.minimum(_step(np.unique(rows["mass_g"])) / fresh, COARSEST)
    group = np.zeros(len(names), int)
    if "group" in rows:
        of = rows.groupby("egg", sort=False)["group"].first().reindex(names)
        group = np.where(of.isna() | (of == ""), len(names) + np.arange(len(names)), pd.factorize(of)[0])
    return Weighings(pip_d, group, there, u, mass_g / fresh[:, None], fresh, loss, last, step)


def _first_guess(there: NDArray[np.bool_], u: Array, mass_g: Array) -> tuple[Array, Array]:
    """Fresh mass and loss of each egg by a line that leans on the typical loss where weighings are few."""
    n = there.sum(axis=1)
    level = np.sum(mass_g, axis=1) / np.sum(there * (1 - TYPICAL * u), axis=1)
    over = np.where(there, mass_g / level[:, None] - (1 - TYPICAL * u), 0)
    middle = u.sum(axis=1) / n
    off = np.where(there, u - middle[:, None], 0)
    lean = (SCATTER / TYPICAL_SD) ** 2
    slope = np.sum(off * over, axis=1) / (np.sum(off**2, axis=1) + lean)
    alpha = 1 + over.sum(axis=1) / n - slope * middle
    return level * alpha, (TYPICAL - slope) / alpha


def _step(masses_g: Array) -> float:
    """The largest step of which all masses are whole multiples: that of the scale, whatever the unit."""
    least = 1e-6 * masses_g[-1]

    def common(step: float, mass: float) -> float:
        while mass > least:
            step, mass = mass, step % mass
        return step

    return float(reduce(common, masses_g[1:].tolist(), float(masses_g[0])))


def pair_shells(loss: pd.DataFrame) -> pd.DataFrame:
    """Whether the eggs of a pair lose more, or less, than those beside them, clutch after clutch.

    Each egg is compared with the other pairs in its group: the median of their means, of two pairs at least, so that
    one pair that is off does not make the others look off. The interval comes of how much the clutches of one pair
    differ, over all pairs (Student's t), so that air that was dry for one clutch is not taken for a shell.

    `loss`: as `water_loss`, with pair, clutch and group (a place and a kind). Returns a row a pair that can be
    compared, by name: pair, clutches, eggs; more, low, high: share of the fresh mass its eggs lose more than the
    others, with the 95 % interval; finding: where it has two clutches and four eggs at least, all its clutches on one
    side, and the interval clear of 0; else "".
    """
    from scipy.special import stdtrit

    known = loss.dropna(subset=["at_pip", "pair", "clutch", "group"])
    clutches = _beside(known).groupby(["pair", "clutch"])["more"].agg(["mean", "size"])
    by_pair = clutches["mean"].groupby("pair")
    table = pd.DataFrame({"clutches": by_pair.size(), "eggs": clutches["size"].groupby("pair").sum()})
    table["more"] = by_pair.mean()
    free = len(clutches) - len(table)
    scatter = np.sqrt(np.sum((clutches["mean"] - by_pair.transform("mean")) ** 2) / free) if free else np.nan
    others = len(clutches) - table["clutches"]
    half = float(stdtrit(max(free, 1), 0.975)) * scatter * np.sqrt(1 / table["clutches"] + 1 / others)
    table["low"], table["high"] = table["more"] - half, table["more"] + half
    one_side = (by_pair.min() > 0) | (by_pair.max() < 0)
    table = table.assign(one_side=one_side).loc[by_name(table.index)].rename_axis("pair").reset_index()
    table["finding"] = pd.Series([_shells_of(row) for row in table.itertuples()], index=table.index, dtype=object)
    return table.drop(columns="one_side")


def _beside(known: pd.DataFrame) -> pd.DataFrame:
    """The eggs that can be compared, with `more`: loss at pip less that of the other pairs in the group."""
    means = known.groupby(["group", "pair"])["at_pip"].mean()
    others = {}
    for group, pair in means.index:
        beside = means[group].drop(pair)
        others[group, pair] = beside.median() if len(beside) >= LEAST_OTHERS else np.nan
    keys = zip(known["group"], known["pair"], strict=True)
    return known.assign(more=known["at_pip"] - [others[key] for key in keys]).dropna(subset="more")


def _shells_of(row: Any) -> Words:
    enough = row.clutches >= LEAST_CLUTCHES and row.eggs >= LEAST_EGGS and row.one_side
    if not enough or not (row.low > 0 or row.high < 0):
        return ""
    low, high = sorted(100 * abs(share) for share in (row.low, row.high))
    code = "eggs.shells-let-more" if row.more > 0 else "eggs.shells-let-less"
    by = {"by_pct": 100 * abs(row.more), "low_pct": low, "high_pct": high}
    return found(code, about=str(row.pair), level=LOOK, pair=str(row.pair), clutches=int(row.clutches), **by)
