"""Who is fed first: hygiene, not urgency, sets the order."""

import pandas as pd

from analysis.names import name_key

ORDER_WHY = (
    "Youngest healthy chicks first, older ones after, bought-in and ailing ones last with their own syringe and bowl: "
    "hygiene sets this order, not urgency (practice). Who needs a veterinarian is read of first."
)


def feeding_order(chicks: pd.DataFrame) -> pd.DataFrame:
    """Put chicks in the order in which they are fed.

    Parameters
    ----------
    chicks : frame
        chick, age_d (missing where it is not known), bought_in, ailing, needs_vet (truth values), and any others.

    Returns
    -------
    The same rows in order, numbered anew, with place_in_order (from 1) and own_tools (bought in, ailing, or to be seen
    by a veterinarian). Chicks of unknown age follow those whose age is known.

    Examples
    --------
    >>> chicks = pd.DataFrame({"chick": ["K1", "K2", "K3"], "age_d": [20.0, 3.0, 9.0], "ailing": [False, False, True]})
    >>> feeding_order(chicks.assign(bought_in=False, needs_vet=False))["chick"].tolist()
    ['K2', 'K1', 'K3']
    """
    ailing = chicks["ailing"].astype(bool) | chicks["needs_vet"].astype(bool)
    group = ailing.map({True: 2, False: 0}).astype(int) + (chicks["bought_in"].astype(bool) & ~ailing).astype(int)
    age_d = chicks["age_d"].fillna(float("inf"))
    keys = list(zip(group, age_d, map(name_key, chicks["chick"].astype(str)), strict=True))
    order = sorted(range(len(chicks)), key=lambda at: keys[at])
    found = chicks.iloc[order].reset_index(drop=True)
    own_tools = (group.iloc[order] > 0).to_numpy()
    return found.assign(place_in_order=range(1, len(found) + 1), own_tools=own_tools)
