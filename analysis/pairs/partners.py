"""What each bird did with each partner, season by season."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import NameBook, same
from analysis.names import by_name
from analysis.needed import typed_frame
from analysis.rates import clutch_counts
from analysis.season import Season
from analysis.season.across_seasons import JoinedSeasons, join_seasons

_OF_EGGS = ["clutches", "eggs", "fertile_known", "fertile", "fertile_ended", "hatched"]
_OF_CHICKS = ["weaned", "reared"]
# What `other_partners` finds.
OTHER_PARTNERS = _NO_EGGS, _UNKNOWN, _FERTILE, _SOME_FERTILE = (
    *("pairs.partner-no-eggs", "pairs.partner-fertility-unknown"),
    *("pairs.partner-fertile", "pairs.partner-some-fertile"),
)
_COLUMNS = {
    **dict.fromkeys(("bird", "sex", "partner", "pair", "season"), "str"),
    **dict.fromkeys([*_OF_EGGS, *_OF_CHICKS], "int64"),
}


def partners(season: Season) -> pd.DataFrame:
    """Count what each bird did with each partner, in this season and in those joined to it.

    Pairs of a cock and a hen that are both written; nobody can say who did what in a trio or colony.

    Returns a row a bird, partner and season; birds by name, the latest season first: bird, sex ("cock" or "hen"),
    partner, pair (its name among the joined seasons), season; clutches, and the counts of `clutch_counts`; weaned,
    reared (weaned or lost): chicks of their eggs, whoever reared them; 0 where no chicks are written.
    """
    birds = join_seasons(season)
    pairs = birds.pairs.set_index("pair")
    pairs = pairs[(pairs["kind"] == "pair") & (pairs["cock"] != "") & (pairs["hen"] != "")]
    done = _counts(birds)
    book = NameBook([*pairs["cock"], *pairs["hen"]])
    rows = []
    for name, pair in birds.names[["season", "pair"]].drop_duplicates().itertuples(index=False):
        if pair in pairs.index:
            cock, hen = (book.find(pairs.loc[pair, sex]) for sex in ("cock", "hen"))
            counts = {"pair": pair, "season": name} | done.get((name, pair), dict.fromkeys([*_OF_EGGS, *_OF_CHICKS], 0))
            rows += [{"bird": cock, "sex": "cock", "partner": hen} | counts]
            rows += [{"bird": hen, "sex": "hen", "partner": cock} | counts]
    place = {bird: at for at, bird in enumerate(by_name({row["bird"] for row in rows}))}
    return typed_frame(sorted(rows, key=lambda row: place[row["bird"]]), _COLUMNS)


def other_partners(season: Season, pair: str, table: pd.DataFrame | None = None) -> list[Finding]:
    """How the eggs of a pair's cock and hen did with others, a finding a partner, those of the cock first.

    `pair`: its name in this season; `table` is from `partners`, where it is known already.
    """
    mine = season.pairs[season.pairs["pair"].map(same) == same(pair)]
    if mine.empty:
        return []
    cock, hen = (same(mine.iloc[0][sex]) for sex in ("cock", "hen"))
    table = partners(season) if table is None else table
    keys = table[["bird", "partner"]].map(same)
    others = {
        sex: table[(keys["bird"] == bird) & (keys["partner"] != partner) & (table["sex"] == sex)]
        for sex, bird, partner in (("cock", cock, hen), ("hen", hen, cock))
    }
    return [_showed(rows, sex) for sex, table in others.items() for _, rows in table.groupby("partner", sort=False)]


def _showed(rows: pd.DataFrame, sex: str) -> Finding:
    """What one bird's eggs with one other partner showed, all seasons together."""
    cock, hen = rows[["bird", "partner"] if sex == "cock" else ["partner", "bird"]].iloc[0]
    who = {"hen": hen, "cock": cock, "seasons": rows["season"].unique().tolist()[::-1]}
    eggs, known, fertile = (int(rows[name].sum()) for name in ("eggs", "fertile_known", "fertile"))
    if not eggs:
        return found(_NO_EGGS, **who)
    if not known:
        return found(_UNKNOWN, **who, eggs=eggs)
    return found(_FERTILE if fertile == known else _SOME_FERTILE, **who, fertile=fertile, known=known)


def _counts(birds: JoinedSeasons) -> dict[tuple[str, str], dict[str, int]]:
    """Counts of every season and pair that laid, by both names; where one of two numbers is blank neither counts."""
    counted = {}
    for name in birds.names["season"].unique():
        eggs, clutches, chicks = (
            frame[frame["season"] == name] for frame in (birds.eggs, birds.clutches, birds.chicks)
        )
        laid = clutch_counts(eggs, clutches).assign(clutches=1)
        for worked, tried in (("fertile", "fertile_known"), ("hatched", "fertile_ended")):
            laid.loc[laid[[worked, tried]].isna().any(axis=1), [worked, tried]] = 0
        weaned = chicks["fate"] == "weaned"
        fates = pd.DataFrame({"pair": chicks["pair"], "weaned": weaned, "reared": weaned | (chicks["fate"] == "lost")})
        sums = laid.groupby("pair")[_OF_EGGS].sum().join(fates.groupby("pair").sum(), how="outer").fillna(0).astype(int)
        counted.update({(name, str(pair)): counts.to_dict() for pair, counts in sums.iterrows()})
    return counted
