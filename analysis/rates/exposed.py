"""Whether clutches that were exposed to something, such as heat, did worse than chance gives: by dealing clutches."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_DEALS, _SEED = 1_999, 20_260_606


def chance_of_exposed(clutches: pd.DataFrame, share: ArrayLike) -> Array:
    """How often chance gives clutches that did as badly as the exposed ones, in any of the exposures at once.

    Each clutch is held against the mean of its own pair's: a weak pair convicts no incubator, and a pair with one
    clutch says nothing. Whole clutches are then dealt anew, each pair's among themselves and what the pairs showed
    among pairs with as many clutches; an exposure's chance is the share of deals in which any of them looks as bad,
    each in its own standard deviations of the deals (Westfall & Young 1993, *Resampling-Based Multiple Testing*; from
    memory). So a clutch that fails whole counts as one clutch, and having looked at many exposures is paid for.

    `clutches` has a row a clutch: pair, worked, tried; `share` (clutches, exposures): which share of its eggs was
    exposed. A ValueError for counts that cannot be. Returns the chance of each exposure, 1 where nothing can be told.
    The same clutches give the same digits, in any order.

    Examples
    --------
    >>> seen = pd.DataFrame({"pair": list("AABBCC"), "tried": 5, "worked": [5, 0, 4, 1, 5, 1]})
    >>> chance_of_exposed(seen, [[0], [1], [0], [1], [0], [1]]).round(2).tolist()  # one deal in eight, by hand
    [0.13]
    """
    exposed = np.asarray(share, dtype=float)
    if not ((clutches["worked"] >= 0) & (clutches["worked"] <= clutches["tried"])).all():
        raise ValueError("counts need 0 <= worked <= tried")
    order = np.lexsort([*exposed.T, *(clutches[name].to_numpy() for name in ("worked", "tried", "pair"))])
    order = order[clutches["tried"].to_numpy()[order] > 0]
    known, exposed = clutches.iloc[order], exposed[order]
    rate = known["worked"] / known["tried"]
    below = (rate.groupby(known["pair"]).transform("mean") - rate).to_numpy(float)
    many = known.groupby("pair")["pair"].transform("size").to_numpy()
    rng, deals = np.random.default_rng(_SEED), np.zeros((_DEALS, exposed.shape[1]))
    for size in np.unique(many[many > 1]):
        mine = below[many == size].reshape(-1, size)
        dealt = rng.permuted(mine[rng.random((_DEALS, len(mine))).argsort(axis=1)], axis=2)
        deals += dealt.reshape(_DEALS, -1) @ exposed[many == size]
    spread = deals.std(axis=0)
    told = spread > 1e-9
    worse = np.where(told, np.vstack([below @ exposed, deals]) / np.where(told, spread, 1), -np.inf)
    as_much = (worse.max(axis=1)[:, None] >= worse[0] - 1e-9).mean(axis=0)
    return np.asarray(np.where(told, as_much, 1.0))
