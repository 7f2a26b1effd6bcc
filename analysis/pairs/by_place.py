"""Cages and other places: what their eggs and chicks did, apart from the pairs that were in them."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.names import by_name
from analysis.pairs.record import HATCH, STAGES, WEAN, Record, read_record
from analysis.say import in_words
from analysis.season import Season

# As sure as this a place is named: in one report in twenty at most in which none differs (tests/calibrate_pages.py).
_SURE = 0.95
_LEAST = 6  # eggs or chicks there, and as many elsewhere, before anything is said of a place (practice)
_PLACES = [
    *("place", "stage", "worked", "tried", "mean", "low", "high", "p_below"),
    *("movers", "here_worked", "here_tried", "away_worked", "away_tried", "worse", "code", "found", "said"),
]
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
    >>> c7 = table[(table["place"] == "C7") & (table["stage"] == "hatch of fertile")]
    >>> c7[["here_worked", "here_tried", "away_worked", "away_tried", "worse"]].values.tolist()
    [[2, 9, 16, 22, False]]
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
