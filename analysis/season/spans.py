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
    seen = chicks["chick"].map(losses["last_seen_well_on"]).where(lambda s: s >= hatched, found)
    died = seen.fillna(found) + (found - seen.fillna(found)) / 2
    lost = chicks["fate"].eq("lost")
    ends = pd.DataFrame({"weaned": chicks["weaned_on"], "left": chicks["left_on"]}).min(axis=1)
    out = died.where(lost, ends.fillna(season.last_day))
    day = pd.Timedelta(days=1)
    return pd.DataFrame(
        {
            "chick": chicks["chick"],
            "species": chicks["species"],
            "reared_by": chicks["reared_by"],
            "event": chicks["chick"].map(losses["event"]).fillna(""),
            "entry_d": ((chicks["arrived_on"] - hatched) / day).clip(lower=0).fillna(0.0),
            "exit_d": ((out - hatched) / day).clip(lower=0),
            "lost": lost,
        }
    ).reset_index(drop=True)
