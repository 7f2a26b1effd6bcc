"""What the record says of each pair, stage by stage: counts, and how sure it is that the pair is below its kind."""

import numpy as np
import pandas as pd

from analysis.review.record import STAGES, Record

COLUMNS = [
    "pair",
    "stage",
    "worked",
    "tried",
    "clutches",
    "aside",
    "mean",
    "low",
    "high",
    "typical",
    "p_low",
    "alone_in",
]


def evidence(record: Record) -> pd.DataFrame:
    """Hold each pair of this season against what is typical of its kind, at each stage.

    Parameters
    ----------
    record : Record

    Returns
    -------
    frame, a row a pair and stage, pairs by name
        pair; stage ("showed fertile", "hatch of fertile": as layers; "weaned": as parents); worked, tried, over all
        joined seasons, without what is set aside; clutches (with anything tried); aside (eggs or chicks); mean, low,
        high of the pair's own rate in a typical place, of its kind; typical, of its kind; p_low, the probability that
        its rate is below the typical one. alone_in: the place where it always was and no other was ever: pair and place
        cannot be told apart there, so mean, low, high and p_low are of the two together. Rates are NaN where there is
        no data at all.
    """
    pairs = record.birds.pairs.loc[record.birds.pairs["this_season"], "pair"]
    rows = [_held(record, str(pair), stage) for pair in pairs for stage in STAGES]
    return pd.DataFrame(rows, columns=COLUMNS)


def _held(record: Record, pair: str, stage: str) -> dict[str, object]:
    rows = record.rows[stage]
    mine = rows[rows["pair"] == pair]
    tried = mine[mine["tried"] > 0]
    counts = {
        "pair": pair,
        "stage": stage,
        "worked": int(tried["worked"].sum()),
        "tried": int(tried["tried"].sum()),
        "clutches": tried.groupby(["season", "laid_by", "clutch"]).ngroups,
        "aside": int(mine["aside"].sum()),
        "alone_in": alone_in(rows[rows["tried"] > 0], pair),
    }
    if not len(rows[rows["tried"] > 0]):
        return counts
    names = {"pair": pair, "kind": kind_of(record, pair, stage)}
    if counts["alone_in"]:
        names["place"] = str(counts["alone_in"])
    own, typical = record.draws(stage, **names), record.draws(stage, kind=names["kind"])
    low, high = np.quantile(own, [0.025, 0.975])
    return counts | {
        "mean": own.mean(),
        "low": low,
        "high": high,
        "typical": typical.mean(),
        "p_low": float((own < typical).mean()),
    }


def alone_in(rows: pd.DataFrame, pair: str) -> str:
    """The one place of a pair that no other shared, or blank."""
    places = rows.loc[rows["pair"] == pair, "place"].unique()
    if len(places) != 1 or not places[0]:
        return ""
    return str(places[0]) if (rows.loc[rows["place"] == places[0], "pair"] == pair).all() else ""


def kind_of(record: Record, pair: str, stage: str) -> str:
    """The kind a pair is held against: its species, in the latest season in which that species tried the stage."""
    rows = record.rows[stage]
    birds = record.birds.pairs.set_index("pair")
    species = str(birds.loc[pair, "species"]) if pair in birds.index else ""
    alike = rows[(rows["tried"] > 0) & (rows["species"] == species)]
    alike = alike if len(alike) else rows[rows["pair"] == pair]
    if alike.empty:
        return species
    seasons = list(dict.fromkeys(record.birds.names["season"]))
    latest = min(alike["season"].unique(), key=seasons.index)
    return str(alike.loc[alike["season"] == latest, "kind"].iloc[0])
