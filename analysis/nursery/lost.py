"""Losses looked back at: was a warning there before, on which day, and by which rule."""

import pandas as pd

from analysis.findings import Growth, lost_chicks
from analysis.growth import trade_alarms
from analysis.logs.names import same
from analysis.nursery.care import HATCHLING_D
from analysis.nursery.who import GOOD_SIGNS
from analysis.words import count_words, listed

BEFORE_D = 7  # what lay longer before a loss was no warning of it (practice)
RULES = ("by weight", "seen", "food left", "trade's rule")
_FLAGS = {"stall": "no gain or loss", "weigh again": "a weight far off", "fall": "the fall before weaning"}


def looked_back(growth: Growth) -> pd.DataFrame:
    """Return each lost chick with the first warning of the week before it was found, rule by rule.

    Parameters
    ----------
    growth : of a season

    Returns
    -------
    frame, a row a chick, by the day of the loss
        chick, pair, lost_on, lost_d (age), cause (as written), event (blank where it was lost alone), weighings; and
        for each rule of `RULES` what it said and at what age, "" where it said nothing a day before or earlier:
        a flag by its weights; a sign that was written down; food left in the crop in the morning; and the trade's own
        "any drop" and "no gain two days running" (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617), which call healthy
        chicks every few weeks too. warned_d: the first of the three others; days_before: the loss
    """
    season = growth.season
    lost = season.chicks[season.chicks["fate"] == "lost"].sort_values("lost_on", kind="stable")
    losses = season.losses[season.losses["chick"] != ""].drop_duplicates("chick").set_index("chick")
    frame = pd.DataFrame({"chick": lost["chick"], "pair": lost["pair"], "lost_on": lost["lost_on"]})
    frame["lost_d"] = (lost["lost_on"].dt.normalize() - lost["hatched_at"].dt.normalize()).dt.days.astype(float)
    for name in ("cause", "event"):
        frame[name] = losses[name].reindex(lost["chick"]).fillna("").to_numpy()
    counts = season.weights.groupby("chick").size()
    frame["weighings"] = counts.reindex(lost["chick"]).fillna(0).to_numpy(dtype=int)
    first = _first(growth, frame)
    said = first.assign(said=[f"{row.said}, day {row.age_d:.0f}" for row in first.itertuples()])
    table = said.pivot_table(index="chick", columns="rule", values="said", aggfunc="first").reindex(columns=list(RULES))
    ours = first[first["rule"] != "trade's rule"]
    frame = frame.join(table.astype(object), on="chick").join(
        ours.groupby("chick")["age_d"].min().rename("warned_d"), on="chick"
    )
    frame[list(RULES)] = frame[list(RULES)].fillna("")
    return frame.assign(days_before=frame["lost_d"] - frame["warned_d"]).reset_index(drop=True)


def looked_back_said(table: pd.DataFrame) -> list[tuple[str, str]]:
    """Say in how many losses there was a warning, and which losses came together; `table` from `looked_back`."""
    said = [
        ("Lost together", f"{event}: {listed(together['chick'])}. One event, and counted as one.")
        for event, together in table[table["event"] != ""].groupby("event", sort=False)
    ]
    alone = table[table["event"] == ""]
    if len(alone):
        warned = alone[alone["warned_d"].notna()]
        count = f"Of {count_words(len(alone), 'chick')} lost alone, {len(warned)} had a warning at least a day before"
        names = listed(
            f"{row.chick} ({count_words(round(row.days_before), 'day')} before)" for row in warned.itertuples()
        )
        said.append(("Seen in time", f"{count}: {names}." if len(warned) else f"{count}."))
    return said


def _first(growth: Growth, lost: pd.DataFrame) -> pd.DataFrame:
    """The first warning of each chick and rule in the week before: chick, rule, said, age_d."""
    warned = pd.concat([*_by_weight(growth), _signs(growth)], ignore_index=True)
    warned = warned.merge(lost[["chick", "lost_d"]], on="chick")
    ahead = warned["lost_d"] - warned["age_d"]
    warned = warned[(ahead >= 1) & (ahead <= BEFORE_D)].sort_values("age_d", kind="stable")
    return warned.drop_duplicates(["chick", "rule"])


def _by_weight(growth: Growth) -> list[pd.DataFrame]:
    """Warnings by weighings: our flags, food left, the trade's rule."""
    flagged = lost_chicks(growth).dropna(subset="age_d")
    weights = growth.weights
    left = weights[weights["crop"].isin(["part", "full"]) & (weights["age_d"] >= HATCHLING_D)]
    called = trade_alarms(weights, until=growth.watch.peaks)
    called = called[called["reading"] != "no gain over two days"]
    return [
        _warned(flagged, "by weight", flagged["flag"].map(lambda flag: _FLAGS.get(flag, flag))),
        _warned(left, "food left", "crop " + left["crop"].astype(str)),
        _warned(called, "trade's rule", called["reading"]),
    ]


def _signs(growth: Growth) -> pd.DataFrame:
    season = growth.season
    signs = season.logs["signs"]
    signs = signs[~signs["sign"].isin(GOOD_SIGNS)]
    names = {same(chick): chick for chick in season.chicks["chick"]}
    chick = signs["who"].map(same).map(names)
    hatched = pd.to_datetime(chick.map(season.chicks.set_index("chick")["hatched_at"].dt.normalize().to_dict()))
    age_d = (pd.to_datetime(signs["seen_at"]).dt.normalize() - hatched).dt.days.astype(float)
    found = pd.DataFrame({"chick": chick, "age_d": age_d, "sign": signs["sign"]}).dropna()
    return _warned(found, "seen", found["sign"])


def _warned(rows: pd.DataFrame, rule: str, said: pd.Series) -> pd.DataFrame:
    columns = {"chick": rows["chick"].astype(object), "age_d": rows["age_d"].astype(float), "said": said.astype(object)}
    return pd.DataFrame(columns).assign(rule=rule)
