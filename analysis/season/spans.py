"""From when to when each chick was watched: what survival is reckoned from."""

import pandas as pd

from analysis.season.model import Season


def chick_spans(season: Season) -> pd.DataFrame:
    """Return one row a chick of known age: chick, species, reared_by, event, entry_d, exit_d, lost.

    A chick hatched here enters at age 0, one that arrived enters at the age it had then. It is watched until
    it was weaned, lost, left or, failing these, the last day. A loss is put half-way between the last good
    look and the finding (Green, Bird Ecology and Conservation, §3.3.6) where a last good look is written,
    otherwise on the day it was found.
    """
    chicks = season.chicks[season.chicks["hatched_at"].notna()]
    losses = season.losses[season.losses["chick"] != ""].drop_duplicates("chick").set_index("chick")
    hatched = chicks["hatched_at"].dt.normalize()
    found = chicks["lost_on"]
    of_chick = losses.reindex(chicks["chick"]).set_axis(chicks.index)
    seen = of_chick["last_seen_well_on"]
    seen = seen.where(seen >= hatched, found)
    died = seen + (found - seen) / 2
    lost = chicks["fate"].eq("lost")
    ends = chicks["weaned_on"].fillna(chicks["left_on"]).fillna(season.last_day)
    out = died.where(lost, ends)
    day = pd.Timedelta(days=1)
    return pd.DataFrame(
        {
            "chick": chicks["chick"],
            "species": chicks["species"],
            "reared_by": chicks["reared_by"],
            "event": of_chick["event"].fillna(""),
            "entry_d": ((chicks["arrived_on"] - hatched) / day).clip(lower=0).fillna(0.0),
            "exit_d": ((out - hatched) / day).clip(lower=0),
            "lost": lost,
        }
    ).reset_index(drop=True)
