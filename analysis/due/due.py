"""The list of a day: from the logs as they stood, what a keeper would do, in the order of a round."""

from datetime import date

import pandas as pd

from analysis.due.chicks import chicks_due
from analysis.due.eggs import eggs_due
from analysis.due.rest import rests_due
from analysis.due.things import rows_of
from analysis.season import Season


def due_on(season: Season, day: str | date | pd.Timestamp, *, flags: pd.DataFrame | None = None) -> pd.DataFrame:
    """What is due on a day, from the logs alone.

    An egg is counted from the day it was set, else from that on which it was laid; the day of hatch is age 0. The
    season's own clock is not asked: ages are counted to `day`, which may be later than the last day of the logs.
    Eggs that showed nothing are not expected to hatch; a bird is never blamed.

    Parameters
    ----------
    season : Season
        Opened with `up_to` this day, so that nothing later is in it.
    day
        The day of the round.
    flags : frame, optional
        What was flagged on the days before, and is not yet back: chick, day, sentence (text or a Finding).

    Returns
    -------
    frame, one row a thing due, several eggs or chicks alike in one; empty where nothing is
        what : one of `KINDS`, in their order; what ends soonest first
        code : the code of the reason
        said : what it is, as a keeper reads it
        who : names as the logs take them, a tuple; an egg whose number another has is pair/clutch/egg
        names : the same as text
        where : the pair with its cage, or the incubator or other place
        since_on, until_on : first and last day of the first to end, NaT where open
        reason : one sentence with the numbers
        brief : the same in fewer words, for a page to write on
        sourced : whether the reason names its source
        source, source_code : "your species log", "your own setting", "your own eggs", "practice", or what was read,
            and its code

    Source: see each module of `analysis.due`.

    Examples
    --------
    >>> from analysis import open_season
    >>> round_ = due_on(open_season("data_demo/season_2026", up_to="2026-05-20"), "2026-05-20")
    >>> print(round_.loc[round_["what"] == "ring", "reason"].item())
    day 11; ring from day 9 to 12 (your species log); local law on rings applies
    """
    today = pd.Timestamp(day).normalize()
    return rows_of([*eggs_due(season, today), *chicks_due(season, today, flags), *rests_due(season, today)])
