"""Whether the shells of a pair's eggs let more, or less, water through than others beside them."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import LOOK, Words, found
from analysis.names import by_name

# Before anything is said of a pair's shells, and pairs to compare it with (practice).
LEAST_CLUTCHES, LEAST_EGGS, LEAST_OTHERS = 2, 4, 2


def pair_shells(loss: pd.DataFrame) -> pd.DataFrame:
    """Whether the eggs of a pair lose more, or less, than those beside them, clutch after clutch.

    Each egg is compared with the other pairs in its group: the median of their means, of two pairs at least, so that
    one pair that is off does not make the others look off.
    The interval comes of how much the clutches of one pair differ, over all pairs (Student's t), so that air that was
    dry for one clutch is not taken for a shell.

    Parameters
    ----------
    loss : frame of `water_loss`, with pair, clutch and group (a place and a kind) beside it

    Returns
    -------
    frame, a row a pair that can be compared, by name
        pair, clutches, eggs
        more, low, high : share of the fresh mass its eggs lose more than the others, with the 95 % interval
        finding : where it has two clutches and four eggs at least, all its clutches on one side, and the interval
        clear of 0; else ""

    Examples
    --------
    >>> eggs = [(f"P{p}", c, 0.15 + 0.04 * (p == 1) + 0.002 * n) for p in (1, 2, 3, 4) for c in "AB" for n in (p, 5)]
    >>> shells = pair_shells(pd.DataFrame(eggs, columns=["pair", "clutch", "at_pip"]).assign(group="drawer"))
    >>> shells[["pair", "clutches", "eggs", "more"]].round(3).values.tolist()[0]
    ['P1', 2, 4, 0.038]
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
