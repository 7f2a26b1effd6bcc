"""Which chicks are reared by hand, in whatever words a keeper says it."""

import pandas as pd

from analysis.logs.names import same
from analysis.season.model import Season

_BY_HAND = ("hand", "hand-reared", "hand-fed", "brooder", "nursery", "incubator", "hatcher", "me", "syringe", "spoon")


def reared_by_hand(season: Season) -> pd.Series:
    """Whether each chick is reared by hand: by a word for it, in a place without a pair, or by nobody who is named.

    A place is one that cages or readings name. A pair, the cage of one, and a name that no log knows are no hand.

    Returns
    -------
    Series of bool, by the index of `season.chicks`

    Examples
    --------
    >>> from analysis import open_season
    >>> season = open_season("data_demo/season_2026", up_to="2026-05-20")
    >>> int((reared_by_hand(season) & (season.chicks["fate"] == "being reared")).sum())
    13
    """
    nests = {same(name) for name in [*season.pairs["pair"], *season.pairs["cage"]]} - {""}
    places = {same(name) for name in [*season.cages["cage"], *season.logs["readings"]["place"]]} - nests | {""}
    reared_by = season.chicks["reared_by"].map(same)
    by_hand = reared_by.map(lambda name: any(word in name.split() for word in _BY_HAND) or name in places).astype(bool)
    return by_hand & ~reared_by.isin(nests)
