"""How each hen's eggs hatched from season to season, whoever the cock was."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.names import same
from analysis.rates import interval, trend
from analysis.review.record import Record, read_record
from analysis.season import Season

SURE_FALLING = 0.95
COLUMNS = ["hen", "pair", "season", "hatched", "ended", "rate", "low", "high"]


def hatch_by_season(record: Record) -> pd.DataFrame:
    """Hatch of set of each hen of this season, season by season.

    Returns
    -------
    frame, a row a hen and season with known outcomes, by pair's name, the earliest season first
        hen; pair (of this season); season; hatched, ended, rate, low, high (Wilson, 95 %)
    """
    birds = record.birds.pairs.set_index("pair")["hen"]
    counts = record.clutches[record.clutches["ended"].notna() & record.clutches["hatched"].notna()]
    counts = counts.assign(key=counts["pair"].map(birds).fillna("").map(same))
    seasons = list(reversed(list(record.aside)))
    rows = []
    for pair in record.season.pairs.to_dict("records"):
        mine = counts[(counts["key"] == same(str(pair["hen"]))) & (counts["key"] != "") & (counts["ended"] > 0)]
        sums = mine.groupby("season")[["hatched", "ended"]].sum().astype(int)
        rows += [(pair["hen"], pair["pair"], name, *sums.loc[name]) for name in seasons if name in sums.index]
    table = pd.DataFrame(rows, columns=COLUMNS[:5])
    low, high = interval(table["hatched"], table["ended"])
    return table.assign(rate=table["hatched"] / table["ended"], low=low, high=high).drop_duplicates(["hen", "season"])


def hens(season: Season, record: Record | None = None) -> pd.DataFrame:
    """Tell of each hen with two seasons or more how the hatch of her eggs goes, whoever the cock was.

    Parameters
    ----------
    season : Season
        With the earlier seasons that are joined to it; alone it has nothing to tell.
    record : Record
        From `read_record`, where it is known already.

    Returns
    -------
    frame, a row a hen: hen, pair, seasons (a Finding: counts of each), change, low, high (last season less first, as a
        share), p_falling, falling (true or false: three seasons or more, and sure enough to say), found

    Examples
    --------
    >>> from analysis import open_season
    >>> table = hens(open_season("data_demo/season_2026"))
    >>> table.loc[table["falling"], ["hen", "pair"]].values.tolist()
    [['Zoë', 'P06']]
    """
    record = read_record(season) if record is None else record
    rows = []
    order = {name: at for at, name in enumerate(reversed(list(record.aside)))}
    for (hen, pair), seen in hatch_by_season(record).groupby(["hen", "pair"], sort=False):
        if len(seen) < 2:
            continue
        went = trend(seen["hatched"], seen["ended"], seen["season"].map(order).astype(float))
        falling = bool(went.p_falling >= SURE_FALLING and len(seen) > 2)
        counts = [
            found("pairs.hatched-in", hatched=row.hatched, ended=row.ended, season=row.season)
            for row in seen.itertuples()
        ]
        seasons = found("pairs.hen-seasons", about=hen, seasons=counts)
        by: dict[str, Any] = {"change": _by(went.change), "low": _by(went.low), "high": _by(went.high)}
        code = "pairs.hen-falling" if falling else "pairs.hen-trend"
        said = found(code, about=hen, hen=hen, seasons=seasons, **by)
        rows.append((hen, pair, seasons, went.change, went.low, went.high, went.p_falling, falling, said))
    columns = ["hen", "pair", "seasons", "change", "low", "high", "p_falling", "falling", "found"]
    return pd.DataFrame(rows, columns=columns).astype({"falling": bool})


def _by(change: float) -> Finding:
    points = int(np.round(100 * change))
    if points == 0:
        return found("pairs.neither-up-nor-down")
    return found("pairs.up-by" if points > 0 else "pairs.down-by", points=abs(points))
