"""Cages and other places: what their eggs and chicks did, apart from the pairs that were in them."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.pairs.record import HATCH, STAGES, WEAN, Record, read_record
from analysis.rates import chance_of_as_few, trend
from analysis.say import in_words
from analysis.season import Season

_SURE = 0.95  # TODO
_LEAST = 6  # eggs or chicks there, and as many elsewhere, before anything is said of a place (practice)
_PLACES = [
    *("place", "stage", "worked", "tried", "mean", "low", "high", "p_below"),
    *("movers", "here_worked", "here_tried", "away_worked", "away_tried", "worse", "code", "found", "said"),
]
_SURE_FALLING = 0.95
_HENS = ["hen", "pair", "seasons", "change", "low", "high", "p_falling", "falling", "found"]
_WORSE = {HATCH: "pairs.place-eggs-worse", WEAN: "pairs.place-chicks-worse"}


def places(season: Season, record: Record | None = None) -> pd.DataFrame:
    """Hold each cage or other place against the typical one, over all joined seasons.

    Parameters
    ----------
    season : Season
        With the earlier seasons that are joined to it.
    record : Record
        From `read_record`, where it is known already.

    Returns
    -------
    frame, a row a place and stage, by name
        place, stage; worked, tried, there, without what is set aside; mean, low, high: the rate there of a typical
        pair, and p_below: the probability that the place is below the typical one, both with clutches that fail whole
        allowed for; movers: the pairs that were there and elsewhere, here_worked and here_tried of them there,
        away_worked and away_tried elsewhere; worse: whether that probability is high enough to be said, and two pairs
        or more were there and did worse than elsewhere; where it is, found: the finding, code: its code and said: its
        sentence, else None and blank

    Examples
    --------
    >>> from analysis import open_season
    >>> table = places(open_season("data_demo/season_2026"))
    >>> table.loc[table["worse"], ["place", "stage"]].values.tolist()
    [['C7', 'hatch of fertile']]
    """
    record = read_record(season) if record is None else record
    rows = [row for stage in STAGES for row in _of_stage(record, stage)]
    table = pd.DataFrame(rows, columns=_PLACES)
    order = {place: at for at, place in enumerate(by_name(table["place"].unique()))}
    return table.sort_values("place", key=lambda names: names.map(order), kind="stable", ignore_index=True)


def blamed_places(table: pd.DataFrame, pair: str) -> Iterator[Finding]:
    """Tell in which places a pair's record may be the place's; `table` from `places`."""
    for row in table.to_dict("records"):
        if row["worse"] and pair in row["movers"]:
            yield found("pairs.place-may-be-why", about=pair, place=row["place"])


def _of_stage(record: Record, stage: str) -> Iterator[dict[str, object]]:
    rows = record.rows[stage]
    rows = rows[rows["tried"] > 0]
    if rows.empty:
        return
    groups = record.rates[stage].groups
    for place in groups[groups["group"] == "place"].to_dict("records"):
        here = rows["place"] == place["name"]
        movers = set(rows.loc[here, "pair"]) & set(rows.loc[~here, "pair"])
        moved = rows["pair"].isin(movers)
        there, away = (rows.loc[moved & side, ["worked", "tried"]].sum().astype(int) for side in (here, ~here))
        facts: dict[str, Any] = {
            "place": place["name"],
            "stage": stage,
            **{name: place[name] for name in ("worked", "tried", "mean", "low", "high")},
            "p_below": place["p_below_typical"],
            "movers": tuple(by_name(movers)),
            **{f"here_{name}": int(there[name]) for name in there.index},
            **{f"away_{name}": int(away[name]) for name in away.index},
        }
        worse = _worse(facts)
        sentence = {"code": worse.code, "said": in_words(worse)} if worse else {"code": "", "said": ""}
        yield facts | {"worse": worse is not None, "found": worse} | sentence


def _worse(facts: dict[str, Any]) -> Finding | None:
    """How the same pairs did here and elsewhere, where they did worse here, and it is sure enough to be the place."""
    few = len(facts["movers"]) < 2 or min(facts["here_tried"], facts["away_tried"]) < _LEAST
    if few or facts["p_below"] < _SURE or facts["stage"] not in _WORSE:
        return None
    if facts["here_worked"] * facts["away_tried"] >= facts["away_worked"] * facts["here_tried"]:
        return None
    shown = ("movers", "here_worked", "here_tried", "away_worked", "away_tried", "p_below")
    counts = {name: facts[name] for name in shown}
    return found(_WORSE[facts["stage"]], about=facts["place"], **counts)


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
    order = {name: at for at, name in enumerate(reversed(list(record.excluded)))}
    for (hen, pair), seen in _hatch_by_season(record).groupby(["hen", "pair"], sort=False):
        if len(seen) < 2:
            continue
        went = trend(seen["hatched"], seen["ended"], seen["season"].map(order).astype(float))
        falling = bool(went.p_falling >= _SURE_FALLING and len(seen) > 2)
        counts = [
            found("pairs.hatched-in", hatched=row.hatched, ended=row.ended, season=row.season)
            for row in seen.itertuples()
        ]
        seasons = found("pairs.hen-seasons", about=hen, seasons=counts)
        numbers = {name: getattr(went, name) for name in ("change", "low", "high")}
        changes: dict[str, Any] = {name: _change(by) for name, by in numbers.items()}
        code = "pairs.hen-falling" if falling else "pairs.hen-trend"
        how = found(code, about=hen, hen=hen, seasons=seasons, **changes)
        rows.append((hen, pair, seasons, *numbers.values(), went.p_falling, falling, how))
    return pd.DataFrame(rows, columns=_HENS).astype({"falling": bool})


def _hatch_by_season(record: Record) -> pd.DataFrame:
    """Hatch of set of each hen of this season, season by season, the earliest first: hen, pair, season, counts."""
    birds = record.birds.pairs.set_index("pair")["hen"]
    counts = record.clutches.dropna(subset=["ended", "hatched"])
    counts = counts.assign(key=counts["pair"].map(birds).fillna("").map(same))
    seasons = list(reversed(list(record.excluded)))
    rows = []
    for pair in record.season.pairs.to_dict("records"):
        mine = counts[(counts["key"] == same(str(pair["hen"]))) & (counts["key"] != "") & (counts["ended"] > 0)]
        sums = mine.groupby("season")[["hatched", "ended"]].sum().astype(int)
        rows += [(pair["hen"], pair["pair"], name, *sums.loc[name]) for name in seasons if name in sums.index]
    return pd.DataFrame(rows, columns=["hen", "pair", "season", "hatched", "ended"]).drop_duplicates(["hen", "season"])


def _change(change: float) -> Finding:
    points = int(np.round(100 * change))
    code = "pairs.up-by" if points > 0 else "pairs.down-by"
    return found(code, points=abs(points)) if points else found("pairs.neither-up-nor-down")
