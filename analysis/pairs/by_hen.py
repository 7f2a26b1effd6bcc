"""How each hen's eggs hatched season by season, and where they hatch less and less."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.pairs.record import Record, read_record
from analysis.rates import slopes
from analysis.season import Season

# As sure as this that her slope is downward, and over so many seasons, before it is said that she falls. Counted on
# seasons of a dozen hens of which none falls, clutches that fail whole and hens kept for a lucky year among them: at
# 0.93 it is said in 0 to 2 reports of a hundred over three seasons and 1 to 4 over five, at 0.9 in up to 4 and 11.
_SURE, _SEASONS = 0.93, 3
_HENS = ["hen", "pair", "seasons", "change", "low", "high", "p_falling", "falling", "found"]


def hens(season: Season, record: Record | None = None) -> pd.DataFrame:
    """Tell of each hen with two seasons or more how her eggs hatched, whoever the cock was, and whether she falls.

    All hens stand in one model (`slopes`): what a season did to all of them is no hen's, one good season is partly
    luck, and clutches fail whole. Three seasons of two clutches seldom suffice to say it of a hen that does fall.

    Parameters
    ----------
    season : Season
        With the earlier seasons that are joined to it; alone it has nothing to tell.
    record : Record
        From `read_record`, where it is known already.

    Returns
    -------
    frame, a row a hen: hen, pair, seasons (a Finding: counts of each); change, low, high (95 %): of the share that
        hatches, from her first season to her last, seasons being alike; p_falling; falling (true or false: three
        seasons or more, and sure enough to say), found

    Examples
    --------
    >>> from analysis import open_season
    >>> table = hens(open_season("data_demo/season_2026"))
    >>> bool(table.set_index("hen").loc["Zoë", "falling"])  # 11 of 12, 8 of 11, 2 of 10: not sure enough
    False
    """
    record = read_record(season) if record is None else record
    clutches = _of_hens(record)
    went = slopes(clutches[["who", "season", "worked", "tried"]]).set_index("who")
    rows = []
    pairs = record.season.pairs.assign(who=record.season.pairs["hen"].map(same)).drop_duplicates("who")
    for pair in pairs.to_dict("records"):
        mine = clutches[clutches["who"] == pair["who"]]
        if mine["season"].nunique() < 2:
            continue
        line = went.loc[pair["who"]]
        falling = bool(line["p_falling"] >= _SURE and line["seasons"] >= _SEASONS)
        told = _told(str(pair["hen"]), mine, line, falling=falling)
        numbers = line[["change", "low", "high", "p_falling"]]
        rows.append((pair["hen"], pair["pair"], _counts(str(pair["hen"]), mine), *numbers, falling, told))
    return pd.DataFrame(rows, columns=_HENS).astype({"falling": bool})


def _of_hens(record: Record) -> pd.DataFrame:
    """Hatch of set of every clutch of every hen, also of those of earlier seasons alone; seasons numbered from 0."""
    birds = record.birds.pairs.set_index("pair")["hen"]
    counts = record.clutches.dropna(subset=["ended", "hatched"])
    names = list(reversed(list(record.excluded)))
    who = counts["pair"].map(birds).fillna("").map(same)
    told = pd.DataFrame({"who": who, "name": counts["season"], "worked": counts["hatched"], "tried": counts["ended"]})
    told = told.assign(season=told["name"].map({name: at for at, name in enumerate(names)}))
    told = told[(told["tried"] > 0) & (told["who"] != "")]
    return told.astype({"worked": int, "tried": int, "season": int}).sort_values("season", kind="stable")


def _counts(hen: str, mine: pd.DataFrame) -> Finding:
    sums = mine.groupby("name", sort=False)[["worked", "tried"]].sum()
    parts = [
        found("pairs.hatched-in", hatched=int(row.worked), ended=int(row.tried), season=row.Index)
        for row in sums.itertuples()
    ]
    return found("pairs.hen-seasons", about=hen, seasons=parts)


def _told(hen: str, mine: pd.DataFrame, line: pd.Series, *, falling: bool) -> Finding:
    if not falling:
        return found("pairs.hen-by-season", about=hen, hen=hen, seasons=_counts(hen, mine))
    sure = float(line["p_falling"])
    return found("pairs.hen-falling", about=hen, hen=hen, seasons=_counts(hen, mine), p_falling=sure)
