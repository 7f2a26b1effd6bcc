"""A season that has only begun: who is here and how old, and what to write next."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.findings.overview import unanswered
from analysis.say import heads, say
from analysis.season import Season

# Fewer weighings, eggs and ended chicks than these: a season that has only begun (ours).
WEIGHINGS, EGGS, ENDED = 20, 20, 5
_MOST = 20
# What to write where something cannot be told, the most useful first.
_WRITE = {
    "overview.no-weights": ("overview.write-weights", "overview.growth"),
    "overview.no-fates": ("overview.write-fates", "overview.weaning"),
    "overview.no-species": ("overview.write-species", "overview.species"),
    "overview.no-eggs": ("overview.write-eggs", "overview.hatching"),
}


def has_only_begun(season: Season) -> bool:
    """Whether so little is logged yet that what to write next helps more than any rate."""
    ended = int(season.chicks["fate"].isin(["weaned", "lost"]).sum())
    return len(season.weights) < WEIGHINGS and len(season.eggs) < EGGS and ended < ENDED


def here_table(season: Season) -> pd.DataFrame:
    """The chicks still being reared, the youngest first: chick, pair, hatched, age on the day it is of."""
    here = season.chicks[season.chicks["fate"] == "being reared"]
    here = here.sort_values("hatched_at", ascending=False, kind="stable").head(_MOST)
    hatched = here["hatched_at"].dt.normalize()
    told = [say("overview.hatched-on", day=day) for day in hatched]
    columns = [here["chick"], here["pair"], told]
    names = heads("chick", "pair", "hatched")
    if season.as_of is not None:
        columns.append((season.as_of - hatched).dt.days.astype("Int64"))
        names.append(say("heads.age-on", day=season.as_of))
    return pd.DataFrame(dict(zip(names, columns, strict=True))).reset_index(drop=True)


def next_steps(season: Season) -> list[Finding]:
    """What to write next, the most useful first."""
    missing = {one.code for one in unanswered(season)}
    write = [found(code, about=found(about)) for asked, (code, about) in _WRITE.items() if asked in missing]
    return [*write, found("overview.next", about=found("overview.about-next"), name=season.folder.name)]
