"""Losses that came together: several chicks of more than one pair, found on one day."""

import pandas as pd

from analysis.finding import found
from analysis.say import in_words
from analysis.season.eggs import Hatch

_CHICKS = 3
_PAIRS = 2


def with_events(losses: pd.DataFrame, hatches: list[Hatch]) -> pd.DataFrame:
    """Fill in `event_found`, a Finding, and `event`, the same in words, for losses that came together: found on one
    day, three chicks or more of two pairs or more.

    This describes what came together and says nothing of chance.
    """
    pair = {h.chick: h.pair for h in hatches if h.chick}
    chicks = losses[losses["chick"] != ""].assign(pair=lambda f: f["chick"].map(pair))
    losses = losses.copy()
    for day, group in chicks.groupby("found_on"):
        pairs = group["pair"].nunique()
        if len(group) >= _CHICKS and pairs >= _PAIRS:
            event = found("season.lost-together", chicks=len(group), pairs=pairs, day=pd.Timestamp(str(day)))
            losses.loc[group.index, "event_found"] = event
            losses.loc[group.index, "event"] = in_words(event)
    return losses
