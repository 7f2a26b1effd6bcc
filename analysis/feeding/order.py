"""Who is fed first: hygiene, not urgency, sets the order."""

import pandas as pd

from analysis.finding import found
from analysis.names import name_key

ORDER_WHY = found("feeding.hygiene-orders", about=found("feeding.this-order"))


def feeding_order(chicks: pd.DataFrame) -> pd.DataFrame:
    """Put chicks in the order in which they are fed.

    The healthy, then the bought-in, the ailing, and those that need a veterinarian; in each the youngest first, those
    of unknown age after the others, and by name where ages are the same.

    Parameters
    ----------
    chicks : frame
        chick, age_d (missing where it is not known), bought_in, ailing, needs_vet (truth values), and any others.

    Returns
    -------
    The same rows in order, numbered anew, with place_in_order (from 1) and own_tools (bought in, ailing, or to be seen
    by a veterinarian).

    Examples
    --------
    >>> chicks = pd.DataFrame({"chick": ["K1", "K2", "K3"], "age_d": [20.0, 3.0, 9.0], "ailing": [False, False, True]})
    >>> feeding_order(chicks.assign(bought_in=False, needs_vet=False))["chick"].tolist()
    ['K2', 'K1', 'K3']
    """
    last = pd.Series(0, index=chicks.index)
    for place, why in enumerate(("bought_in", "ailing", "needs_vet"), start=1):
        last = last.mask(chicks[why].astype(bool), place)
    age_d = chicks["age_d"].fillna(float("inf"))
    keys = list(zip(last, age_d, map(name_key, chicks["chick"].astype(str)), strict=True))
    order = sorted(range(len(chicks)), key=lambda at: keys[at])
    rows = chicks.iloc[order].reset_index(drop=True)
    own_tools = (last.iloc[order] > 0).to_numpy()
    return rows.assign(place_in_order=range(1, len(rows) + 1), own_tools=own_tools)
