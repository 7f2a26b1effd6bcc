"""Losses that came together: several chicks of more than one pair, found on one day."""

import pandas as pd

from analysis.season.eggs import Hatch
from analysis.words import day_words

_CHICKS = 3
_PAIRS = 2


def with_events(losses: pd.DataFrame, hatches: list[Hatch]) -> pd.DataFrame:
    """Fill in `event` for losses found on one day, three chicks or more of two pairs or more.

    This describes what came together and says nothing of chance.
    """
    pair = {h.chick: h.pair for h in hatches if h.chick}
    chicks = losses[losses["chick"] != ""].assign(pair=lambda f: f["chick"].map(pair))
    losses = losses.copy()
    for day, group in chicks.groupby("found_on"):
        pairs = group["pair"].nunique()
        if len(group) >= _CHICKS and pairs >= _PAIRS:
            event = f"{len(group)} chicks of {pairs} pairs on {day_words(pd.Timestamp(str(day)))}"
            losses.loc[group.index, "event"] = event
    return losses
