"""The 95 % interval of one proportion."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

ENGINE = {"wilson": "wilson", "exact": "beta", "jeffreys": "jeffreys"}  # our word: statsmodels' word


def interval(k: ArrayLike, n: ArrayLike, method: str = "wilson") -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """95 % interval of a proportion: the rates that k of n leaves open.

    Wilson's interval holds every rate p for which k is within 1.96 standard errors of n·p::

        (p̂ + z²/2n ± z √(p̂(1 − p̂)/n + z²/4n²)) / (1 + z²/n),   p̂ = k/n, z = 1.96

    It stays within 0 and 1 and says something honest of 0 of 4 and of 4 of 4, where the plain
    "± 1.96 standard errors" says "certain".

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
    from statsmodels.stats.proportion import proportion_confint

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
    safe = np.maximum(tried, 1)  # 0 of 0 would divide by zero; it is answered below
    ends = proportion_confint(np.array(worked), safe, method=ENGINE[method])
    low, high = (np.asarray(end, dtype=float).reshape(tried.shape) for end in ends)
    low[worked == 0] = 0.0  # rounding leaves 1e-17, Jeffreys 0.01: nothing seen speaks against 0
    high[worked == tried] = 1.0  # the same, turned round; and 0 of 0 leaves 0 to 1: nothing is known
    return low, high


def _counts(values: ArrayLike, name: str) -> NDArray[np.float64]:
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
