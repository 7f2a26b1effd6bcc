"""A season that has only begun: who is here and how old, and what to write next."""

import pandas as pd

from analysis.findings.overview import Item, unanswered
from analysis.season import Season
from analysis.words import day_words

# Fewer weighings, eggs and ended chicks than these: a season that has only begun (ours).
WEIGHINGS, EGGS, ENDED = 20, 20, 5
_MOST = 20
_WRITE = {
    "Growth": "Weigh each chick every morning before its first feed, and write a row a weighing into weights. From "
    "about five weighings on a chick has a curve of its own, and a stall shows within two days.",
    "Weaning": "When a chick feeds itself for good, write the day into weaned_on; when one is lost, a row into losses.",
    "Species": "A row for each pair in pairs says what they are; chicks are then held against others of their kind.",
    "Hatching": "A row an egg in hatches (or a row a clutch in clutches), with what became of it, gives hatch rates.",
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
    told = [day_words(day) or "not written" for day in hatched]
    columns = {"chick": here["chick"], "pair": here["pair"], "hatched": told}
    if season.as_of is not None:
        columns[f"age on {day_words(season.as_of)} (d)"] = (season.as_of - hatched).dt.days.astype("Int64")
    return pd.DataFrame(columns).reset_index(drop=True)


def next_steps(season: Season) -> list[Item]:
    """What to write next, the most useful first."""
    missing = [what for what, _ in unanswered(season)]
    said = [(what, sentence) for what, sentence in _WRITE.items() if what in missing]
    name = season.folder.name
    then = f"Run season report {name} again, as often as you like; season round {name} is for mornings."
    return [*said, ("Then", then)]
