"""The 95 % interval of a proportion, alone or by clutches."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
ENGINE = {"wilson": "wilson", "exact": "beta", "jeffreys": "jeffreys"}  # our word: statsmodels' word
# How much alike eggs of one clutch are thought to do before any is seen, and how many clutches that weighs. A scatter
# of 0.15 and one clutch in ten that fails whole come to 0.3 to 0.4; so judged by how often the intervals hold (ours).
ALIKE, WORTH = 0.3, 8.0


def interval(k: ArrayLike, n: ArrayLike, method: str = "wilson") -> tuple[Array, Array]:
    """95 % interval of a proportion: the rates that k of n leaves open.

    Wilson's interval holds every rate p for which k is within 1.96 standard errors of n·p::

        (p̂ + z²/2n ± z √(p̂(1 − p̂)/n + z²/4n²)) / (1 + z²/n),   p̂ = k/n, z = 1.96

    It stays within 0 and 1 and says something honest of 0 of 4 and of 4 of 4, where the plain
    "± 1.96 standard errors" says "certain". It takes eggs one by one; `clutch_intervals` takes clutches as wholes.

    Parameters
    ----------
    k : whole numbers of any shape
        How many worked: eggs that hatched, chicks weaned.
    n : whole numbers, of a shape that fits k's
        How many were tried.
    method : "wilson", "exact" or "jeffreys"
        "wilson" covers 95 % on average; "exact" (Clopper and Pearson) never less, and is wider;
        "jeffreys" is the middle 95 % of what is believed after k of n, beginning from Beta(½, ½).

    Returns
    -------
    low, high : arrays of the common shape
        Ends of the interval, as shares (0 to 1).

    Raises
    ------
    ValueError
        For what is no count (below zero, a fraction, missing), k above n, or an unknown method.

    Notes
    -----
    Worked by ``statsmodels.stats.proportion.proportion_confint``; two cases are set here: 0 of 0,
    and the ends at 0 of n and n of n.
    Sources: Wilson 1927, *J. Am. Stat. Assoc.* 22:209; Clopper & Pearson 1934, *Biometrika* 26:404;
    Brown, Cai & DasGupta 2001, *Stat. Sci.* 16:101 (from memory).

    Examples
    --------
    >>> low, high = interval([3, 4, 0], [4, 4, 0])
    >>> low.round(2), high.round(2)
    (array([0.3 , 0.51, 0.  ]), array([0.95, 1.  , 1.  ]))
    """
    if not isinstance(method, str) or method not in ENGINE:
        raise ValueError(f"method is {method!r}; it must be one of {', '.join(ENGINE)}")
    counts = _counts(k, "k"), _counts(n, "n")
    try:
        worked, tried = np.broadcast_arrays(*counts)
    except ValueError:
        many = (" by ".join(map(str, one.shape)) for one in counts)
        raise ValueError("k and n must be of one shape, got {} and {}".format(*many)) from None
    if np.any(worked > tried):
        first = np.argmax(np.ravel(worked > tried))
        raise ValueError(f"k is above n: {worked.flat[first]:g} of {tried.flat[first]:g}")
    return part_interval(worked, tried, method)


def part_interval(worked: Array, tried: Array, method: str = "wilson") -> tuple[Array, Array]:
    """The same of counts that are known to be sound, and may be parts of one."""
    from statsmodels.stats.proportion import proportion_confint

    safe = np.where(tried > 0, tried, 1.0)  # 0 of 0 would divide by zero; it is answered below
    ends = proportion_confint(np.array(worked), safe, method=ENGINE[method])
    low, high = (np.asarray(end, dtype=float).reshape(tried.shape) for end in ends)
    low[worked == 0] = 0.0  # rounding leaves 1e-17, Jeffreys 0.01: nothing seen speaks against 0
    high[worked == tried] = 1.0  # the same, turned round; and 0 of 0 leaves 0 to 1: nothing is known
    return low, high


def clutch_intervals(counts: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """95 % interval of the rate of each group, its clutches taken as wholes.

    Eggs of one clutch do alike, and sometimes all fail together, so n of them tell less than n apart. Wilson's interval
    is taken of n over the design effect (Kish)::

        effect = 1 + (Σ n² / Σ n - 1) · alike, at least 1      n: eggs or chicks of each clutch of the group

    alike, the intraclass correlation, is one for all clutches in `counts`: see `alike`.

    `counts` has rows of clutches, or parts of them: worked, tried (numbers; parts of one, where a chick is on its way),
    clutch (a label; rows of one label are one clutch), and pair where clutches are held beside their own pair's alone.
    `names`, on its index, has the group of each row. Returns, by name: worked, tried (sums), low, high; nothing tried
    leaves 0 to 1.

    Sources: Kish 1965, *Survey Sampling*, §5.4 and §8.2; Rao & Scott 1992, *Biometrics* 48:577 (from memory).

    Examples
    --------
    >>> counts = pd.DataFrame({"worked": [4, 0, 4], "tried": [4, 4, 4], "clutch": [1, 2, 3]})
    >>> names = pd.Series("aviary", index=counts.index)
    >>> clutch_intervals(counts, names)[["low", "high"]].round(2).to_numpy().tolist()
    [[0.28, 0.91]]
    """
    each = counts.groupby([names.to_numpy(), counts["clutch"].to_numpy()])[["worked", "tried"]].sum()
    sums = each.groupby(level=0).sum()
    size = (each["tried"] ** 2).groupby(level=0).sum() / sums["tried"].where(sums["tried"] > 0)
    effect = (1 + (size - 1) * alike(counts)).clip(lower=1.0).fillna(1.0)
    low, high = part_interval(*(sums[name].to_numpy(float) / effect.to_numpy() for name in ("worked", "tried")))
    return sums.assign(low=low, high=high)


def alike(counts: pd.DataFrame) -> float:
    """How much alike eggs or chicks of one clutch do: 0, each for itself, to 1, all of a clutch or none.

    The intraclass correlation by analysis of variance between clutches, of one pair where pairs are named, and within
    them, drawn towards 0.3 by the worth of eight clutches: a season of a few clutches says next to nothing of it.
    Clutches that fail whole show up in it; a pair of which nothing is ever fertile does not. `counts` as for
    `clutch_intervals`.

    Sources: Donner 1986, *Int. Stat. Rev.* 54:67; Ridout, Demétrio & Firth 1999, *Biometrics* 55:137; clutches in pairs
    as in the nested analysis of Sokal & Rohlf 1995, *Biometry*, ch. 10 (all from memory).
    """
    pairs = counts["pair"] if "pair" in counts else pd.Series("", index=counts.index)
    of = (
        counts.assign(pair=pairs.astype(object).where(pairs.notna(), ""))
        .groupby(["pair", "clutch"])[["worked", "tried"]]
        .sum()
    )
    of = of[of["tried"] > 0].astype(float)
    n, k = of["tried"], of["worked"]
    of_pair = of.groupby(level=0)[["worked", "tried"]].transform("sum")
    between, within = len(n) - of.index.get_level_values(0).nunique(), n.sum() - len(n)
    if between < 1 or within <= 0:
        return ALIKE
    of_clutches = float((n * (k / n - of_pair["worked"] / of_pair["tried"]) ** 2).sum()) / between
    of_eggs = float((k * (1 - k / n)).sum()) / within
    size = float(n.sum() - (n**2 / of_pair["tried"]).sum()) / between
    if of_clutches + max(size - 1, 0.0) * of_eggs <= 0:  # all worked, or none
        return ALIKE
    found = np.clip((of_clutches - of_eggs) / (of_clutches + max(size - 1, 0.0) * of_eggs), -1.0, 1.0)
    return float(max((between * found + WORTH * ALIKE) / (between + WORTH), 0.0))


def _counts(values: ArrayLike, name: str) -> Array:
    """Counts as floats, or a ValueError that says what was got."""
    given: Any = values
    try:
        counts = np.asarray(given, dtype=float)
    except (TypeError, ValueError):
        raise ValueError(f"{name} must be whole numbers, got {given!r}") from None
    wrong = ~(np.isfinite(counts) & (counts >= 0) & (counts == np.floor(counts)))
    if wrong.any():
        raise ValueError(f"{name} must be whole numbers from 0 up, got {counts[wrong].flat[0]:g}")
    return counts
