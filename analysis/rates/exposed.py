"""Whether clutches that were exposed to something, such as heat, did worse than chance gives: by dealing clutches."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_RHO = 0.15  # intraclass correlation of a clutch's eggs, about (published counts of clutches)
# How far pairs, and places, differ, as a share of the variance of a single egg: about 0.8 on the logit (practice).
_PAIRS, _PLACES = 0.1, 0.1
_FEWEST = 3  # clutches, below which nothing can be dealt
_DEALS, _SEED = 1_999, 20_260_606


def chance_of_exposed(clutches: pd.DataFrame, share: ArrayLike) -> Array:
    """How often chance gives clutches that did as badly as the exposed ones, in any of the exposures at once.

    The rate of a clutch is that of all, with what is the pair's and the place's, and the rest. Pair and place are
    taken out first, drawn towards all the less is known of them: a weak pair's clutches were as bad before, and a
    pair that has no other clutch tells little. What is left of each whole clutch is then dealt anew to all clutches,
    pair and place taken out again (Freedman & Lane 1983, *J. Bus. Econ. Stat.* 1:292); an exposure's chance is the
    share of deals in which any of them looks as bad, each in its own standard errors (Westfall & Young 1993; both from
    memory). So a clutch that fails whole counts as one clutch, and having looked at many exposures is paid for.

    `clutches` has a row a clutch (or the part of it that was in one place): pair, place, worked, tried; `share`
    (clutches, exposures): which share of its eggs was exposed. A ValueError for counts that cannot be. Returns the
    chance of each exposure, 1 where nothing can be told. The same clutches give the same digits, in any order.

    Examples
    --------
    >>> hatched = [5, 0] * 3 + [4] * 12
    >>> seen = pd.DataFrame({"pair": list("AABBCC") * 3, "place": "drawer", "tried": 5, "worked": hatched})
    >>> chance_of_exposed(seen, (seen["worked"] == 0).to_numpy()[:, None]).round(2).tolist()
    [0.0]
    """
    exposed = np.asarray(share, dtype=float)
    if not ((clutches["worked"] >= 0) & (clutches["worked"] <= clutches["tried"])).all():
        raise ValueError("counts need 0 <= worked <= tried")
    order = np.lexsort([*exposed.T, *(clutches[name].to_numpy() for name in ("worked", "tried", "place", "pair"))])
    order = order[clutches["tried"].to_numpy()[order] > 0]
    known, exposed = clutches.iloc[order], exposed[order]
    if len(known) < _FEWEST or not exposed.any():
        return np.ones(exposed.shape[1])
    scale = _root(known)
    mean = scale.sum(axis=1)
    left = np.eye(len(known)) - np.outer(mean, mean) / (mean @ mean)  # takes the mean of all out
    worse = -left @ scale @ exposed
    size = np.linalg.norm(worse, axis=0)
    told = size > 1e-9 * np.linalg.norm(mean)
    seen = scale @ (known["worked"] / known["tried"]).to_numpy(float)
    rest = left @ seen / np.sqrt(np.diag(left))
    rng = np.random.default_rng(_SEED)
    dealt = np.vstack([seen, rng.permuted(np.tile(rest, (_DEALS, 1)), axis=1)]) @ left
    along = dealt @ (worse / np.where(told, size, 1.0))
    beside = np.sqrt(np.maximum((dealt**2).sum(axis=1)[:, None] - along**2, 1e-12))
    found = np.where(told, along / beside, -np.inf)
    most = found.max(axis=1)
    as_much = (most[:, None] >= found[0] - 1e-9).mean(axis=0)
    return np.asarray(np.where(told & exposed.any(axis=0), as_much, 1.0))


def _root(known: pd.DataFrame) -> Array:
    """What makes the clutches' rates independent and alike in spread: the inverse root of how they vary together."""
    tried = known["tried"].to_numpy(float)
    varies = np.diag((1 + (tried - 1) * _RHO) / tried)
    for column, part in (("pair", _PAIRS), ("place", _PLACES)):
        names = known[column].to_numpy()
        varies = varies + part * (names[:, None] == names)
    value, vector = np.linalg.eigh(varies)
    return np.asarray(vector / np.sqrt(value) @ vector.T)
